"""Recognition by Vosk, and its loader of models: the only module that imports it.

What Vosk 0.3.45 does with broken input was tried, and is why so much is checked before it is called: a damaged
`HCLr.fst` and an empty phrase list end the process by a signal, an endpoint setting without silence phones
aborts it, a word that the model lacks is dropped from the phrase list with a log line, and an unreadable file is a
bare `Exception`. Its phrase list is a bigram model that *biases*; it enforces nothing, so what comes back has
to be parsed strictly afterwards.
"""

from __future__ import annotations

import copy
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, redirect_stdout
from io import StringIO
from pathlib import Path
from typing import Any

import numpy as np

from logger.errors import RecogniserError, UnknownWordsError
from logger.model import RATE_HZ, HeardWord, Hypothesis, Samples

UNKNOWN_WORD = "[unk]"
"""What Vosk's models call a word that is none of theirs."""

_FST_MAGIC = (2125659606).to_bytes(4, "little")
"""How every OpenFst file begins."""
_TRIAL = """
import sys, vosk
vosk.SetLogLevel(-2)
recogniser = vosk.KaldiRecognizer(vosk.Model(sys.argv[1]), 16000)
recogniser.AcceptWaveform(bytes(16000))
recogniser.FinalResult()
"""
_TRIAL_LIMIT_S = 120
_NS_PER_S = 1_000_000_000


def model_folders() -> tuple[Path, ...]:
    """Return the folders in which Vosk keeps models, in its order, whether they exist or not.

    Vosk reads VOSK_MODEL_PATH once, when it is first imported.
    """
    import vosk

    return tuple(Path(folder) for folder in vosk.MODEL_DIRS if folder)


def load_published_model(name: str) -> Path:
    """Let Vosk's own loader find or fetch the model `name` and return its folder; progress goes to stderr.

    Raises:
        LookupError: Vosk publishes no model of this name.
        Exception: whatever goes wrong on the way; the loader lets everything through.
    """
    import vosk

    class Loader(vosk.Model):  # type: ignore[misc]
        """The loader's methods sit on the class whose constructor also opens a model; this one opens none."""

        def __init__(self) -> None:
            pass

        def __del__(self) -> None:
            pass

    try:
        # It prints on stdout, which here is for data, and ends the process for a name it does not know.
        with redirect_stdout(StringIO()):
            return Path(Loader().get_model_by_name(name))
    except SystemExit as error:
        raise LookupError(name) from error


class VoskRecogniser:
    """A Vosk model listening for calls; see `logger.ports.Recogniser`.

    One Vosk recogniser is made and used for all stretches, since making one costs time that grows with the phrase
    list (4 ms for 1,100 word pairs on the tests' tiny model, beside 22 ms of hearing). That is safe: after
    `FinalResult` Vosk itself throws the decoder and the features away and begins anew, so nothing of one stretch
    reaches the next; a test holds the answers against those of a fresh one. Only its clock runs on, which is
    taken off again here. `Reset` would not do: it keeps the features.

    Args:
        model_path: the model's folder.
        phrases: what to expect, such as the word pairs of the call-out language; empty for the model's own
            language. A model with a static graph cannot use it (see `takes_phrases`).
        vocabulary: every word that has to be hearable.
        alternatives: how many answers to ask for.

    Raises:
        RecogniserError: the folder is no usable model; `UnknownWordsError`: it lacks words of the vocabulary.
    """

    def __init__(
        self,
        model_path: Path,
        phrases: tuple[str, ...] = (),
        vocabulary: frozenset[str] = frozenset(),
        alternatives: int = 10,
    ) -> None:
        self._graph = _check_folder(model_path)
        self._name = f"vosk {model_path.resolve().name}"
        self._model = _load(model_path, trial=self.takes_phrases)
        wanted = vocabulary.union(*(phrase.split() for phrase in phrases)) - {UNKNOWN_WORD}
        if missing := self.missing_words(wanted):
            raise UnknownWordsError(
                f"{model_path}: this Vosk model does not know {_listed(missing)}; "
                "choose a larger English model, or leave these words out of the sheet"
            )
        expected = [phrase for phrase in phrases if phrase.strip() and UNKNOWN_WORD not in phrase.split()]
        if expected and not self.missing_words([UNKNOWN_WORD]):
            expected.append(UNKNOWN_WORD)
        self._expected, self._alternatives = expected, alternatives
        self._recogniser = self._make()
        self._samples_heard = 0

    def another(self) -> VoskRecogniser:
        """Return one more like this on the same model, in hardly more memory: another thread may ask it meanwhile."""
        twin = copy.copy(self)
        twin._recogniser = self._make()  # noqa: SLF001  (its own)
        twin._samples_heard = 0  # noqa: SLF001
        return twin

    @property
    def name(self) -> str:
        """Which recogniser and model this is, as kept beside each answer."""
        return self._name

    @property
    def takes_phrases(self) -> bool:
        """Whether the model's graph is put together at run time, so that a phrase list has an effect."""
        return self._graph.name == "HCLr.fst"

    def missing_words(self, words: Iterable[str]) -> tuple[str, ...]:
        """Return those of `words` that the model cannot hear, sorted."""
        return tuple(sorted(word for word in words if self._model.vosk_model_find_word(word) < 0))

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Return the answers for one stretch, best first; empty when nothing was heard in it.

        Answers with the same words are given once, with their best score. Scores are natural logs without a common
        zero: they compare only within one stretch. Words carry no confidence, as Vosk gives none together
        with alternatives. `[unk]` stays in an answer as a word, so that it parses to no meaning.

        Raises:
            RecogniserError: Vosk failed, which tells of a broken model and not of the sound.
        """
        began_s = self._samples_heard / RATE_HZ
        sound = np.ascontiguousarray(samples, dtype=np.int16)
        try:
            self._recogniser.AcceptWaveform(sound.tobytes())
            answer = json.loads(self._recogniser.FinalResult())
        except Exception as error:
            raise RecogniserError(
                f"{self._name} failed on a stretch of sound ({error}); fetch the model anew"
            ) from error
        self._samples_heard += len(sound)
        return ranked(answer.get("alternatives", []), began_s)

    def _make(self) -> Any:
        import vosk

        try:
            if self._expected and self.takes_phrases:
                made = vosk.KaldiRecognizer(self._model, RATE_HZ, json.dumps(self._expected))
            else:
                made = vosk.KaldiRecognizer(self._model, RATE_HZ)
        except Exception as error:
            raise RecogniserError(f"{self._name} does not start ({error}); fetch the model anew") from error
        made.SetMaxAlternatives(max(1, self._alternatives))
        made.SetWords(True)
        return made


def ranked(alternatives: list[dict[str, Any]], began_s: float) -> tuple[Hypothesis, ...]:
    """Return Vosk's alternatives as answers, best first, those with the same words once, empty ones left out.

    Args:
        alternatives: as in Vosk's JSON; times in seconds on its own clock.
        began_s: when the stretch began on that clock.
    """
    best: dict[tuple[str, ...], Hypothesis] = {}
    for alternative in sorted(alternatives, key=lambda each: -float(each.get("confidence", 0.0))):
        words = tuple(
            HeardWord(word["word"], _ns(word["start"] - began_s), _ns(word["end"] - began_s))
            for word in alternative.get("result", [])
        )
        text = tuple(word.text for word in words)
        if text and text not in best:
            best[text] = Hypothesis(len(best), words, float(alternative["confidence"]))
    return tuple(best.values())


def _ns(seconds: float) -> int:
    return max(0, round(seconds * _NS_PER_S))


def _listed(words: tuple[str, ...]) -> str:
    shown = ", ".join(words[:12])
    return shown if len(words) <= 12 else f"{shown} and {len(words) - 12} more"


def _check_folder(folder: Path) -> Path:
    """Return the graph of the model in `folder`, having seen that what Vosk cannot survive is in order."""
    if not folder.is_dir():
        raise RecogniserError(f"{folder}: no such folder; name the folder that a Vosk model was unpacked to")
    flat = not (folder / "am" / "final.mdl").exists()
    network = folder / "final.mdl" if flat else folder / "am" / "final.mdl"
    conf, graph = (folder, folder) if flat else (folder / "conf", folder / "graph")
    if not network.exists():
        raise RecogniserError(
            f"{folder}: no Vosk model in it (am/final.mdl is missing); name the folder that holds am/"
        )
    static = graph / "HCLG.fst"
    needed = [network, conf / "mfcc.conf", graph / "words.txt"]
    needed += [] if flat else [conf / "model.conf"]
    needed += (
        [static] if static.exists() else [graph / "HCLr.fst", graph / "Gr.fst", graph / "disambig_tid.int"]
    )
    for path in needed:
        _check_file(path, may_be_empty=path.name == "disambig_tid.int")
    if not flat and "silence-phones" not in (conf / "model.conf").read_text(
        encoding="utf-8", errors="replace"
    ):
        raise RecogniserError(f"{conf / 'model.conf'}: names no silence phones; fetch the model anew")
    return static if static.exists() else graph / "HCLr.fst"


def _check_file(path: Path, *, may_be_empty: bool) -> None:
    try:
        with path.open("rb") as opened:
            start = opened.read(4)
    except OSError as error:
        reason = error.strerror or "unreadable"
        raise RecogniserError(f"{path}: {reason}; the Vosk model is incomplete, fetch it anew") from error
    if not start and not may_be_empty:
        raise RecogniserError(f"{path}: empty; the Vosk model is incomplete, fetch it anew")
    if path.suffix == ".fst" and start != _FST_MAGIC:
        raise RecogniserError(f"{path}: not a graph; the Vosk model is damaged, fetch it anew")


def _load(folder: Path, *, trial: bool) -> Any:
    """Load a model, in a process of its own first where a damaged file could end this one.

    Only a run-time graph is that dangerous (Vosk does not look whether it could be read), and models with one
    are small, so the second load costs little.
    """
    if trial:
        _try_elsewhere(folder)
    import vosk

    with _caught_stderr() as lines:
        vosk.SetLogLevel(-2)
        try:
            return vosk.Model(str(folder))
        except Exception as error:
            raise RecogniserError(_damaged(folder, lines())) from error
        finally:
            # From here on not even errors are printed: each comes back as an exception as well.
            vosk.SetLogLevel(-3)


def _try_elsewhere(folder: Path) -> None:
    command = [sys.executable, "-c", _TRIAL, str(folder)]
    try:
        done = subprocess.run(command, capture_output=True, timeout=_TRIAL_LIMIT_S, check=False)  # noqa: S603
    except subprocess.TimeoutExpired as error:
        raise RecogniserError(
            f"{folder}: the Vosk model takes longer than {_TRIAL_LIMIT_S} s to load"
        ) from error
    if done.returncode != 0:
        raise RecogniserError(_damaged(folder, done.stderr.decode(errors="replace")))


def _damaged(folder: Path, talk: str) -> str:
    reasons = [line for line in talk.splitlines() if line.startswith(("ERROR", "ASSERTION_FAILED"))]
    reason = f" ({reasons[-1].split(') ', 1)[-1].removeprefix('ERROR: ').strip()})" if reasons else ""
    return f"{folder}: Vosk cannot use this model{reason}; fetch it anew"


@contextmanager
def _caught_stderr() -> Iterator[Any]:
    """Catch what C++ writes to standard error meanwhile: OpenFst prints there whatever Vosk's log level is."""
    sys.stderr.flush()
    kept = os.dup(2)
    with tempfile.TemporaryFile() as caught:
        os.dup2(caught.fileno(), 2)

        def lines() -> str:
            caught.seek(0)
            return caught.read().decode(errors="replace")

        try:
            yield lines
        finally:
            os.dup2(kept, 2)
            os.close(kept)
