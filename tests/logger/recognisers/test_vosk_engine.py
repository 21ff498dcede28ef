"""The real Vosk library, real model folders, real sound.

The models are built by tests/kit/vosk_model: one trained here on synthetic voices (kept in .cache, so only the
first run pays), and ones with random weights, which load and decode all the same.
"""

from __future__ import annotations

import json
import math
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import vosk
from rapidfuzz.distance import Levenshtein
from vosk_model import HELD_OUT_VOICES, Voice, random_model, sentences, speak, tiny_model, word_pairs
from vosk_model.build import trained_network
from vosk_model.features import cepstra
from vosk_model.folder import ACOUSTIC_SCALE
from vosk_model.graph import looped, word_graph
from vosk_model.phones import lexicon
from vosk_model.phrases import DRIVE_WORDS, ONES, TEENS, TENS, other_talk
from vosk_model.sounds import read_sound, speak_timed

from logger.errors import RecogniserError
from logger.model import RATE_HZ, Hypothesis, Samples
from logger.ports import Recogniser
from logger.recognisers.vosk_engine import VoskRecogniser, ranked

CALL = "checkpoint sixty three percent"
CALLS = sentences(48, 2024)
PHRASES = word_pairs([*sentences(2000, 5), *CALLS, CALL])
FEW_WORDS = ("one", "three", "oh", "point", "percent")


@pytest.fixture(scope="module")
def ear() -> VoskRecogniser:
    """Return a recogniser over the trained model with a run-time graph and a phrase list."""
    return VoskRecogniser(tiny_model(), PHRASES, DRIVE_WORDS)


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return model folders with random weights and few words: run-time and static graph."""
    folder = tmp_path_factory.mktemp("blank")
    return {
        "runtime": random_model(folder / "runtime", FEW_WORDS),
        "static": random_model(folder / "static", FEW_WORDS, static=True),
    }


@pytest.fixture(scope="module")
def spoken() -> list[tuple[str, Samples]]:
    """Return calls in four voices that the training never heard."""
    return [(call, speak(call, HELD_OUT_VOICES[n % len(HELD_OUT_VOICES)])) for n, call in enumerate(CALLS)]


def test_it_is_a_recogniser(ear: VoskRecogniser) -> None:
    """The adapter fits the port and tells which model it is."""
    port: Recogniser = ear

    assert f"vosk {tiny_model().name}" == port.name


def test_calls_are_heard(ear: VoskRecogniser, spoken: list[tuple[str, Samples]]) -> None:
    """Of clean calls in unheard voices most first answers are exact, and nearly all lists hold the truth."""
    answers = [(call, [answer.text for answer in ear.recognise(sound)]) for call, sound in spoken]
    exact = sum(texts[:1] == [call] for call, texts in answers)
    listed = sum(call in texts for call, texts in answers)
    wrong = sum(Levenshtein.distance(call.split(), " ".join(texts[:1]).split()) for call, texts in answers)
    words = sum(len(call.split()) for call in CALLS)

    assert (True, True, True) == (
        exact >= 0.55 * len(CALLS),
        listed >= 0.85 * len(CALLS),
        wrong <= 0.1 * words,
    )


def test_answers_are_ranked_and_distinct(ear: VoskRecogniser, spoken: list[tuple[str, Samples]]) -> None:
    """Ranks count from 0, scores fall with them, no two answers have the same words, and most calls get several."""
    lists = [ear.recognise(sound) for _, sound in spoken[:12]]
    assert sum(len(answers) > 1 for answers in lists) >= 10

    for answers in lists:
        scores = [answer.score for answer in answers if answer.score is not None]
        assert list(range(len(answers))) == [answer.rank for answer in answers]
        assert sorted(scores, reverse=True) == scores
        assert len(answers) == len({answer.text for answer in answers})


def test_the_same_words_are_one_answer() -> None:
    """Of alternatives with the same words the best scored stays; order follows the score, and empty ones go."""

    def alternative(score: float, start_s: float, *words: str) -> dict[str, object]:
        heard = [{"word": word, "start": start_s, "end": start_s + 0.3} for word in words]
        return {"confidence": score, "text": " ".join(words), "result": heard}

    answers = ranked(
        [
            alternative(80.0, 5.0, "nine"),
            alternative(90.5, 5.06, "five"),
            {"confidence": 85.0, "text": ""},
            alternative(70.0, 5.09, "five"),
        ],
        5.0,
    )
    starts_ns = [answer.words[0].start_ns for answer in answers]

    assert [(0, "five", 90.5), (1, "nine", 80.0)] == [(each.rank, each.text, each.score) for each in answers]
    assert [60_000_000, 0] == starts_ns


def test_human_words_are_heard() -> None:
    """A person is heard as well, if far less surely: the model was made from synthesisers alone.

    The voice is that of Debian's asterisk-core-sounds-en-g722 (CC BY-SA 3.0), single number words.
    """
    folder = Path("/usr/share/asterisk/sounds/en_US_f_Allison/digits")
    files = {word: str(number) for number, word in enumerate(["zero", *ONES, *TEENS, "twenty"])}
    files |= {word: str(10 * tens) for tens, word in enumerate(TENS, 2)} | {
        word: word for word in ("hundred", "thousand")
    }
    ear = VoskRecogniser(tiny_model(), tuple(files), DRIVE_WORDS)
    lists = {
        word: [a.text for a in ear.recognise(read_sound(folder / f"{name}.g722"))]
        for word, name in files.items()
    }
    exact = sum(texts[:1] == [word] for word, texts in lists.items())
    listed = sum(word in texts for word, texts in lists.items())

    assert 30 == len(files)
    assert (True, True) == (exact >= 8, listed >= 14)


def test_no_more_alternatives_than_asked(spoken: list[tuple[str, Samples]]) -> None:
    """The number of alternatives is an upper bound, and one is possible."""
    counts = []
    for alternatives in (1, 3):
        ear = VoskRecogniser(tiny_model(), PHRASES, DRIVE_WORDS, alternatives)
        counts.append(max(len(ear.recognise(sound)) for _, sound in spoken[:6]))

    assert [1, 3] == counts


def test_words_carry_times(ear: VoskRecogniser) -> None:
    """Words follow each other inside the stretch, and begin later by as much as silence is put before them."""
    sound = speak(CALL, HELD_OUT_VOICES[1])
    delay = np.zeros(RATE_HZ, np.int16)
    first = ear.recognise(sound)[0]
    later = ear.recognise(np.concatenate([delay, sound]))[0]
    bounds = [bound for word in first.words for bound in (word.start_ns, word.end_ns) if bound is not None]
    shifts_s = [
        (late.start_ns - early.start_ns) / 1e9
        for early, late in zip(first.words, later.words, strict=True)
        if early.start_ns is not None and late.start_ns is not None
    ]

    assert CALL == first.text == later.text
    assert 2 * len(first.words) == len(bounds)
    assert sorted(bounds) == bounds
    assert bounds[-1] <= len(sound) * 1e9 / RATE_HZ
    assert [1.0] * 4 == pytest.approx(shifts_s, abs=0.1)
    assert [None] * 4 == [word.confidence for word in first.words]


def test_word_times_agree_with_the_synthesiser(ear: VoskRecogniser) -> None:
    """Each word begins within 80 ms of where flite, which spoke it, says that it does (its own durations)."""
    voice = Voice("flite", "slt")
    sound = speak("checkpoint seventy five percent", voice)
    ends = speak_timed("checkpoint seventy five percent", voice)[1]
    # "ch" opens checkpoint, the first "s" seventy, "f" five, and the last "p" percent.
    begins = {name: ends[n - 1][1] for n, (name, _) in reversed(list(enumerate(ends))) if n}
    last_p = max(n for n, (name, _) in enumerate(ends) if name == "p")
    expected = [begins["ch"], begins["s"], begins["f"], ends[last_p - 1][1]]
    answer = ear.recognise(sound)[0]

    assert "checkpoint seventy five percent" == answer.text
    assert expected == pytest.approx([(word.start_ns or 0) / 1e9 for word in answer.words], abs=0.08)


def test_nothing_of_one_stretch_reaches_the_next(
    ear: VoskRecogniser, spoken: list[tuple[str, Samples]]
) -> None:
    """One recogniser used for many stretches answers as a fresh one does for each, in any order, times included."""
    sounds = [sound for _, sound in spoken[:6]]
    used = [ear.recognise(sound) for sound in sounds]
    again = [ear.recognise(sound) for sound in reversed(sounds)]
    fresh = [VoskRecogniser(tiny_model(), PHRASES, DRIVE_WORDS).recognise(sound) for sound in sounds[:3]]

    assert [_rounded(answers) for answers in used] == [_rounded(answers) for answers in reversed(again)]
    assert [_rounded(answers) for answers in fresh] == [_rounded(answers) for answers in used[:3]]


def _rounded(answers: tuple[Hypothesis, ...]) -> list[tuple[str, list[int], float]]:
    # Vosk counts seconds in single precision from its first stretch on, so the last digits wander.
    return [
        (
            answer.text,
            [round((word.start_ns or 0) / 1e6) for word in answer.words],
            round(answer.score or 0, 3),
        )
        for answer in answers
    ]


@pytest.mark.parametrize("samples", [0, 1, 100, 4000, 48_000])
def test_silence_gives_no_answer(ear: VoskRecogniser, samples: int) -> None:
    """Silence of any length, none at all included, is no call and no error."""
    assert () == ear.recognise(np.zeros(samples, np.int16))


def test_strided_sound_is_heard(ear: VoskRecogniser) -> None:
    """A view with gaps in memory, as one channel of two is, gives what its copy gives."""
    sound = speak(CALL, HELD_OUT_VOICES[1])
    stereo = np.stack([sound, np.zeros_like(sound)], axis=1)

    assert CALL == ear.recognise(stereo[:, 0])[0].text


def test_other_talk_becomes_unknown_words(ear: VoskRecogniser) -> None:
    """`[unk]` stays in the answers to most other talk, and is not in those to most calls."""
    talk = other_talk(12, 77)
    among_talk = sum(
        "[unk]" in ear.recognise(speak(words, HELD_OUT_VOICES[n % 4]))[0].text for n, words in enumerate(talk)
    )
    among_calls = sum(
        "[unk]" in ear.recognise(speak(call, HELD_OUT_VOICES[n % 4]))[0].text
        for n, call in enumerate(CALLS[:12])
    )

    assert (True, True) == (among_talk >= 8, among_calls <= 2)


def test_a_model_without_unknown_words_never_says_one(spoken: list[tuple[str, Samples]]) -> None:
    """Where a model lacks `[unk]` it is kept out of the phrase list, even when the caller put it there."""
    ear = VoskRecogniser(tiny_model(unknown=False), (*PHRASES, "[unk]"), DRIVE_WORDS | {"[unk]"})
    texts = [answer.text for _, sound in spoken[:4] for answer in ear.recognise(sound)]

    assert ("[unk]",) == ear.missing_words(["[unk]"])
    assert not any("[unk]" in text for text in texts)


def test_a_static_graph_works_without_its_phrases(
    spoken: list[tuple[str, Samples]], capfd: pytest.CaptureFixture[str]
) -> None:
    """A model that takes no phrase list is used with its own language, quietly, and hears calls too."""
    ear = VoskRecogniser(tiny_model(static=True), PHRASES, DRIVE_WORDS)
    heard = [call in [answer.text for answer in ear.recognise(sound)] for call, sound in spoken[:16]]

    assert not ear.takes_phrases
    assert sum(heard) >= 10
    assert ("", "") == tuple(capfd.readouterr())


def test_a_phrase_list_bends_a_run_time_graph(ear: VoskRecogniser) -> None:
    """Only words of the phrase list come back from a model that knows more."""
    narrow = VoskRecogniser(tiny_model(unknown=False), ("one two", "two three", "three one"))
    texts = [answer.text for answer in narrow.recognise(speak(CALL, HELD_OUT_VOICES[1]))]

    assert ear.takes_phrases
    assert {"one", "two", "three"} >= {word for text in texts for word in text.split()}


def test_no_phrases_means_the_models_own_language(spoken: list[tuple[str, Samples]]) -> None:
    """An empty phrase list, which ends Vosk by a signal, is not handed on; blank phrases are none."""
    ears = [VoskRecogniser(tiny_model(), phrases, DRIVE_WORDS) for phrases in ((), ("", " "))]
    texts = [[ear.recognise(sound)[0].text for _, sound in spoken[:4]] for ear in ears]

    assert texts[0] == texts[1]
    assert sum(call == text for (call, _), text in zip(spoken, texts[0], strict=False)) >= 1


@pytest.mark.parametrize("kind", ["runtime", "static"])
def test_missing_words_are_named(blank: dict[str, Path], kind: str) -> None:
    """Words that the model lacks, in the vocabulary or in a phrase alone, are an error that lists them."""
    with pytest.raises(RecogniserError) as caught:
        VoskRecogniser(blank[kind], ("three kilowatt",), frozenset(["one", "odometer"]))

    assert str(caught.value) == (
        f"{blank[kind]}: this Vosk model does not know kilowatt, odometer; "
        "choose a larger English model, or leave these words out of the sheet"
    )


def test_a_long_list_of_missing_words_is_cut(blank: dict[str, Path]) -> None:
    """The message stays one readable line."""
    with pytest.raises(RecogniserError, match=r"w00, w01, .*, w11 and 8 more; choose"):
        VoskRecogniser(blank["runtime"], (), frozenset(f"w{n:02}" for n in range(20)))


def _remove(path: Path) -> None:
    path.unlink()


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _halve(path: Path) -> None:
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])


def _scribble(path: Path) -> None:
    path.write_bytes(b"this is no model\n" * 50)


ANY_HARM = (_remove, _empty, _halve, _scribble)
HARM = [
    *(("runtime", "am/final.mdl", harm) for harm in ANY_HARM),
    *(("runtime", "conf/model.conf", harm) for harm in ANY_HARM),
    *(("static", "conf/mfcc.conf", harm) for harm in (_remove, _empty, _scribble)),
    *(("static", "graph/HCLG.fst", harm) for harm in ANY_HARM),
    *(("runtime", "graph/HCLr.fst", harm) for harm in ANY_HARM),
    *(("runtime", "graph/Gr.fst", harm) for harm in ANY_HARM),
    *(("runtime", "graph/words.txt", harm) for harm in (_remove, _empty, _scribble)),
    ("runtime", "graph/disambig_tid.int", _remove),
    ("static", "graph/words.txt", _scribble),
]


@pytest.mark.parametrize("broken", HARM, ids=lambda broken: f"{broken[2].__name__} {broken[0]} {broken[1]}")
def test_a_damaged_model_is_one_line(
    blank: dict[str, Path],
    tmp_path: Path,
    capfd: pytest.CaptureFixture[str],
    broken: tuple[str, str, Callable[[Path], None]],
) -> None:
    """Whatever file is gone, empty, cut short or overwritten, there is one error that names the folder, and no noise.

    Some of these end a process that hands the folder to Vosk directly (tried with vosk 0.3.45).
    """
    kind, name, harm = broken
    folder = tmp_path / "model"
    shutil.copytree(blank[kind], folder)
    harm(folder / name)
    with pytest.raises(RecogniserError) as caught:
        VoskRecogniser(folder, ("one three",), frozenset(["one"]))

    message = str(caught.value)
    assert message.startswith(str(folder))
    assert "\n" not in message
    assert ("", "") == tuple(capfd.readouterr())


def test_the_trial_run_is_needed(blank: dict[str, Path], tmp_path: Path) -> None:
    """Vosk itself still dies by a signal on a graph cut short; when it no longer does, the trial can go."""
    folder = tmp_path / "model"
    shutil.copytree(blank["runtime"], folder)
    _halve(folder / "graph/HCLr.fst")
    script = "import sys, vosk; vosk.KaldiRecognizer(vosk.Model(sys.argv[1]), 16000, '[\"one\"]')"
    done = subprocess.run([sys.executable, "-c", script, str(folder)], capture_output=True, check=False)

    assert done.returncode < 0


@pytest.mark.parametrize(
    "make", [lambda path: path.mkdir(), lambda path: path.write_text("x"), lambda _: None]
)
def test_no_model_folder(tmp_path: Path, make: Callable[[Path], None]) -> None:
    """An empty folder, a file, and nothing at all are refused with advice."""
    path = tmp_path / "here"
    make(path)
    with pytest.raises(RecogniserError, match=rf"{path}: no .*name the folder"):
        VoskRecogniser(path)


def test_a_flat_model_folder_works(blank: dict[str, Path], tmp_path: Path) -> None:
    """The older layout, everything in one folder, is taken as Vosk takes it."""
    for source in ("am/final.mdl", "conf/mfcc.conf", "graph/HCLG.fst", "graph/words.txt"):
        shutil.copy(blank["static"] / source, tmp_path)
    ear = VoskRecogniser(tmp_path, (), frozenset(FEW_WORDS))

    assert all(
        set(answer.text.split()) <= {*FEW_WORDS, "[unk]"}
        for answer in ear.recognise(np.zeros(16_000, np.int16))
    )


def test_the_network_in_the_folder_is_the_one_trained(tmp_path: Path) -> None:
    """Vosk's best score is that of a Viterbi search in numpy over the same graph and the trained network.

    This holds the exported weights, priors, features and graph against an independent computation at once.
    """
    words = ("one", "three", "five", "point", "percent")
    from vosk_model.folder import write_folder

    network = trained_network(DRIVE_WORDS)
    ways = lexicon(words)
    write_folder(tmp_path, ways, network, static=True)
    sound = speak("three point five percent", HELD_OUT_VOICES[1])
    recogniser = vosk.KaldiRecognizer(vosk.Model(str(tmp_path)), 16_000)
    recogniser.SetMaxAlternatives(1)
    recogniser.AcceptWaveform(sound.tobytes())
    answer = json.loads(recogniser.FinalResult())["alternatives"][0]
    numbers = {word: number for number, word in enumerate(sorted(words), 1)}
    graph = looped(word_graph(ways, numbers), len(words))
    best, heard = _viterbi(graph.arcs, graph.finals, network.scores(cepstra(sound), 3) * ACOUSTIC_SCALE)

    assert (
        "three point five percent"
        == answer["text"]
        == " ".join(sorted(words)[number - 1] for number in heard)
    )
    assert best == pytest.approx(answer["confidence"], abs=0.02)


def _viterbi(arcs: list, finals: dict[int, float], scores: np.ndarray) -> tuple[float, tuple[int, ...]]:  # type: ignore[type-arg]
    """Return the best log score and its words; graph costs count 0.9 times, as in Vosk's recognizer.cc."""
    from vosk_model.phones import all_phones

    sound_of = {phone: sound for phone, sound, _ in all_phones()}
    silent = [arc for arc in arcs if arc.taken == 0]
    taking = [arc for arc in arcs if arc.taken]
    tokens: dict[int, tuple[float, tuple[int, ...]]] = {0: (0.0, ())}

    def spread(found: dict[int, tuple[float, tuple[int, ...]]]) -> None:
        for _ in range(3):  # no path takes more than three silent arcs in a row
            for arc in silent:
                if arc.source in found:
                    score, words = found[arc.source]
                    _keep(found, arc.target, score - 0.9 * arc.cost, words)

    spread(tokens)
    for frame in scores:
        new: dict[int, tuple[float, tuple[int, ...]]] = {}
        for arc in taking:
            if arc.source in tokens:
                score, words = tokens[arc.source]
                heard = score - 0.9 * arc.cost + float(frame[sound_of[(arc.taken + 1) // 2]])
                _keep(new, arc.target, heard, (*words, arc.given) if arc.given else words)
        spread(new)
        tokens = new
    return max(
        ((tokens[state][0] - 0.9 * cost, tokens[state][1]) for state, cost in finals.items()),
        default=(-math.inf, ()),
    )


def _keep(
    found: dict[int, tuple[float, tuple[int, ...]]], state: int, score: float, words: tuple[int, ...]
) -> None:
    if state not in found or score > found[state][0]:
        found[state] = (score, words)
