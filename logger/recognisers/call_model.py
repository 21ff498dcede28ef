"""Vosk with the call model: odovox's own acoustic model, made for call-outs in a moving car (docs/call-model.md).

The language is compiled into the graph that Vosk searches, so each answer is a phrase of it, or talk. A Vosk model is a
folder; ours is put together for each language, opened, and thrown away again.
"""

from __future__ import annotations

import shutil
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from grammar import Language
from logger.core.fusing import Ear, fused
from logger.errors import RecogniserError, UnknownWordsError
from logger.model import RATE_HZ, HeardWord, Hypothesis, Samples
from logger.recognisers.call_graph import TALK_WORD, call_graph, word_numbers
from logger.recognisers.call_phones import SOUNDS, places
from logger.recognisers.kaldi_graph import Graph
from logger.recognisers.loudness import at_usual_level
from logger.recognisers.pronunciations import pronunciations
from logger.recognisers.vosk_engine import VoskRecogniser

NAME = "call-model-2"
_DATA = Path(__file__).with_name("data") / "call-model"
_ANSWERS = 20
PACES = (1.0, 0.94, 1.06)
"""Each stretch is heard as it is, slower and faster, pitch with it, as if three people had said it. In a trial on TUNING
voices the joined answers were right in 2 of 100 calls more, in quiet as at 10 dB, than those of any one pace."""
_UNHEARD = 3.0
"""Natural log; see `Ear`. With 1 about the same on TUNING voices."""


def shipped_weights() -> Path:
    """Return the folder of the call model that odovox carries."""
    return _DATA


class CallModelRecogniser:
    """Hears only phrases of the language, and talk as no call.

    Args:
        language: what may be called out.
        weights: a folder that `call_model.export` wrote, in place of the one that odovox carries.

    Raises:
        RecogniserError: a word of the language is in no dictionary, or the model or the library cannot be used.
    """

    def __init__(self, language: Language, weights: Path | None = None) -> None:
        with tempfile.TemporaryDirectory(prefix="odovox-") as scratch:
            folder = Path(scratch) / NAME
            try:
                write_folder(folder, language, weights)
            except OSError as error:
                raise RecogniserError(
                    f"the call model cannot be put together ({error.strerror or error}); see that there is room in "
                    f"{tempfile.gettempdir()}, or install odovox again"
                ) from error
            first = VoskRecogniser(folder, (), language.vocabulary, _ANSWERS)
        self._by_pace = {PACES[0]: first, **{pace: first.another() for pace in PACES[1:]}}
        self._threads = ThreadPoolExecutor(len(PACES), "pace")

    @property
    def name(self) -> str:
        """Library and model."""
        return self._by_pace[PACES[0]].name

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Return the answers for one stretch, best first; none when talk is likelier than any phrase."""
        samples = at_usual_level(samples)
        # Vosk lets go of Python's lock while it listens, so that two cores are nearly twice as quick.
        heard = self._threads.map(lambda pace: self._at(samples, pace), PACES)
        answers = fused([Ear(each, 1 / len(PACES), _UNHEARD) for each in heard])
        if not answers or _is_talk(answers[0]):
            return ()
        phrases = [answer for answer in answers if not _is_talk(answer)]
        return tuple(Hypothesis(rank, answer.words, answer.score) for rank, answer in enumerate(phrases))

    def _at(self, samples: Samples, pace: float) -> tuple[Hypothesis, ...]:
        """Return what is heard when the sound is played faster or slower, with times as in the sound itself."""
        if pace == 1.0:
            return self._by_pace[pace].recognise(samples)
        import soxr

        played = soxr.resample(samples, RATE_HZ * pace, RATE_HZ)
        return tuple(
            Hypothesis(answer.rank, tuple(_slowed(word, pace) for word in answer.words), answer.score)
            for answer in self._by_pace[pace].recognise(played)
        )


def _slowed(word: HeardWord, pace: float) -> HeardWord:
    return HeardWord(
        word.text,
        None if word.start_ns is None else round(word.start_ns * pace),
        None if word.end_ns is None else round(word.end_ns * pace),
    )


def write_folder(folder: Path, language: Language, weights: Path | None = None) -> None:
    """Write the call model with a language as a folder that Vosk opens; `weights` as for `CallModelRecogniser`.

    Raises:
        OSError: it cannot be written, or what it is made from cannot be read.
        UnknownWordsError: a word of the language is in no dictionary.
    """
    automaton = language.automaton
    ways = pronunciations(automaton.vocabulary)
    if missing := sorted(automaton.vocabulary - ways.keys()):
        raise UnknownWordsError(
            f"nobody has told how to say {', '.join(missing)}; use words of an English dictionary in the sheet"
        )
    graph = call_graph(automaton, ways, language.phrasebook.lead)
    write_model_files(folder, graph, word_numbers(automaton), weights)


def write_model_files(
    folder: Path, graph: Graph, numbers: dict[str, int], weights: Path | None = None
) -> None:
    """Write the call model with a graph and the numbers of its words; `weights` as for `CallModelRecogniser`.

    Raises:
        OSError: it cannot be written, or what it is made from cannot be read.
    """
    for part in ("am", "conf", "graph/phones"):
        (folder / part).mkdir(parents=True)
    source = weights or shipped_weights()
    shutil.copyfile(source / "final.mdl", folder / "am" / "final.mdl")
    for name in ("mfcc.conf", "model.conf"):
        shutil.copyfile(source / name, folder / "conf" / name)
    (folder / "graph" / "HCLG.fst").write_bytes(graph.to_bytes())
    _write_table(folder / "graph" / "words.txt", {"<eps>": 0, **numbers})
    phones = places()
    _write_table(
        folder / "graph" / "phones.txt",
        {"<eps>": 0, **{f"{SOUNDS[each.sound]}_{each.place}": each.phone for each in phones}},
    )
    lines = "".join(f"{each.phone} {each.place}\n" for each in phones)
    (folder / "graph" / "phones" / "word_boundary.int").write_text(lines, encoding="ascii")


def _write_table(path: Path, numbers: dict[str, int]) -> None:
    path.write_text("".join(f"{name} {number}\n" for name, number in numbers.items()), encoding="utf-8")


def _is_talk(answer: Hypothesis) -> bool:
    return any(word.text == TALK_WORD for word in answer.words)
