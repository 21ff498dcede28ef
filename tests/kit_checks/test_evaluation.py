"""The benchmark of recognition: nobody is reported who taught, noises are as loud as they say, counts are what was heard.

A small version of the whole runs here: real recognisers, a real model folder in Vosk's own layout, real sound.
"""

from __future__ import annotations

import ast
import io
import json
import tarfile
import wave
from dataclasses import asdict, replace
from importlib import util
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
import vosk
from evaluation import noises, people, read_speech
from evaluation.conditions import BY_KIND, CABIN, CLEAN, EVERY, RATIOS, Condition
from evaluation.costs import measured
from evaluation.ears import AUTO, CALL_MODEL, POCKETSPHINX, Ear, ears, learned_from
from evaluation.hearing import Heard
from evaluation.judging import Pair, Row, judged, verdicts
from evaluation.tables import BEGIN, END, Results, by_chance, page, put_in, total
from evaluation.trials import DIGITS, PERSON, SYNTHETIC, TALK, language, trials
from speechkit import RATE_HZ, noise
from speechkit.levels import Measure, to_samples
from speechkit.speaking import say
from speechkit.voices import GROUPS, MORE_TRACTS, REPORT, TRAINING, voice
from vosk_model.build import trained_network
from vosk_model.folder import write_folder
from vosk_model.phones import UNKNOWN_WORD, lexicon

from logger.model import HeardWord, Hypothesis
from logger.recognisers.call_model import shipped_weights

ROOT = Path(__file__).resolve().parents[2]
PUBLIC = "vosk-model-tiny-en-us-0.1"
AT_5_DB = Condition(CABIN, 5, Measure.BROADBAND)


def benchmark() -> ModuleType:
    """Return the module of the command."""
    path = ROOT / "tests" / "benchmarks" / "recognition.py"
    spec = util.spec_from_file_location("recognition", path)
    assert spec is not None
    assert spec.loader is not None
    module = util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def digits(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as the digit data set has it: two takes of each digit by one speaker, at 8 kHz."""
    folder = tmp_path_factory.mktemp("digits")
    for take, name in enumerate(("espeak-en-us-f2", "flite-slt")):
        for number, word in enumerate(people.DIGITS):
            with wave.open(str(folder / f"{number}_somebody_{take}.wav"), "wb") as file:
                file.setnchannels(1)
                file.setsampwidth(2)
                file.setframerate(8000)
                file.writeframes(say(voice(name), word)[::2].tobytes())
    return folder


@pytest.fixture
def installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An English model where Vosk finds it: the kit's tiny trained one, with every word of the call-out language."""
    folder = tmp_path / "models" / PUBLIC
    folder.mkdir(parents=True)
    known = lexicon([*language("default").vocabulary, UNKNOWN_WORD])
    write_folder(folder, known, trained_network(), static=False)
    monkeypatch.setattr(vosk, "MODEL_DIRS", [str(folder.parent)])
    return folder


def test_nobody_is_reported_who_taught(digits: Path) -> None:
    """No voice of the calls and of the talk taught the shipped model, nor does one of their speakers' other voices."""
    speaker = {each.name: each.speaker for group in (*GROUPS.values(), MORE_TRACTS) for each in group}
    taught = learned_from(None)
    reported = {trial.voice for trial in trials(digits=digits)}
    report_speakers = {trial.speaker for trial in trials() if trial.voice in speaker}

    assert {each.name for each in (*TRAINING, *MORE_TRACTS)} < taught
    assert not reported & taught
    assert not report_speakers & {speaker[name] for name in taught if name in speaker}
    assert {each.speaker for each in REPORT} == report_speakers


def test_a_voice_that_taught_is_never_asked_about(digits: Path, tmp_path: Path) -> None:
    """A person's digits are heard only by the model trained without that person."""
    (said, *_) = (trial for trial in trials(digits=digits) if trial.kind == DIGITS)
    (tmp_path / "voices.txt").write_text("flite-rms\ndigits-another\n")
    without, *_ = (each for each in ears({"digits-somebody": tmp_path}) if each.only)

    assert without.hears(said)
    assert not without.hears(replace(said, voice="digits-another"))
    assert not replace(without, only="digits-another").hears(replace(said, voice="digits-another"))
    assert not Ear(CALL_MODEL, "call model").hears(said)
    assert Ear(POCKETSPHINX, "pocketsphinx").hears(said)
    with pytest.raises(ValueError, match="learned from digits-george"):
        ears({"digits-george": shipped_weights()})
    with pytest.raises(ValueError, match=r"voices\.txt is missing"):
        ears({"digits-somebody": tmp_path / "models"})


def test_a_share_is_the_first_of_the_same_trials(digits: Path) -> None:
    """So that a run over more goes on where one over less stopped; every voice is in a small share too."""
    every, some = (trials(digits=digits, share=share) for share in (1.0, 0.05))

    assert {each.key for each in some} < {each.key for each in every}
    assert len(every) == len({each.key for each in every})
    assert {each.voice for each in every} == {each.voice for each in some}


def test_every_call_means_what_its_trial_says(digits: Path) -> None:
    """Also the digits, in a language of their own."""
    for trial in trials(digits=digits):
        said = Hypothesis(0, tuple(HeardWord(word) for word in trial.text.split()))
        verdict = judged((said,), trial)
        assert (trial.truth is not None) == verdict.first, trial
        assert (trial.truth is None) == verdict.no_call, trial


@pytest.mark.parametrize(
    "condition", [each for each in (*RATIOS, *BY_KIND) if each.noise not in ("", "music")]
)
def test_noise_is_as_loud_as_its_name_says(condition: Condition) -> None:
    """The ratio of what was said to what was added, by the measure that the condition names."""
    # Quiet enough that nothing clips: then the speech is in the mixture as it was.
    speech = say(voice("flite-slt"), "checkpoint sixty three percent") // 20
    heard = condition.heard(speech, "a trial", "slt")
    clean = np.pad(speech.astype(np.float64), RATE_HZ // 2)
    assert condition.ratio_db is None or condition.ratio_db == pytest.approx(
        noise.ratio_of(clean, heard - clean, condition.measure), abs=0.1
    )
    assert np.array_equal(heard, condition.heard(speech, "a trial", "slt"))
    assert not np.array_equal(heard, condition.heard(speech, "another trial", "slt"))


def test_kinds_of_noise_are_what_they_are_called() -> None:
    """Tyres lie below 2 kHz, a hum is tones, an indicator is clicks, wind swells: by simple figures of each."""
    sounds = {
        kind: noises.noise_of(kind, 4 * RATE_HZ, 5)
        for kind in noises.KINDS
        if kind not in ("music", "second talker")
    }
    spectra = {kind: np.abs(np.fft.rfft(sound)) ** 2 for kind, sound in sounds.items()}
    hertz = np.fft.rfftfreq(4 * RATE_HZ, 1 / RATE_HZ)
    tones = {
        kind: float(np.sort(power)[-len(power) // 100 :].sum() / power.sum())
        for kind, power in spectra.items()
    }
    peaks = {kind: float(np.abs(sound).max() / sound.std()) for kind, sound in sounds.items()}
    powers = {kind: (sound.reshape(-1, RATE_HZ // 4) ** 2).mean(axis=1) for kind, sound in sounds.items()}

    assert spectra["tyres"][hertz < 2000].sum() > 0.95 * spectra["tyres"].sum()
    assert max(tones, key=tones.__getitem__) == "hum"
    assert max(peaks, key=peaks.__getitem__) == "indicator"
    assert powers["wind"].max() > 2 * powers["wind"].min()


def test_the_second_talker_is_somebody_else(monkeypatch: pytest.MonkeyPatch) -> None:
    """A REPORT voice, never one of the speaker's own."""
    asked = []

    def spoken(who: object, text: str) -> object:
        asked.append(who)
        return say(who, text)  # type: ignore[arg-type]

    monkeypatch.setattr(noises, "say", spoken)
    for seed in range(6):
        noises.noise_of("second talker", RATE_HZ, seed, "slt")

    assert {each.speaker for each in asked} <= {each.speaker for each in REPORT} - {"slt"}
    assert len({each.speaker for each in asked}) > 1


def test_the_reports_noises_share_nothing_with_the_trainings() -> None:
    """What makes them imports nothing that the training's noise is made with."""
    sources = [ROOT / "tests/kit/evaluation" / name for name in ("noises.py", "conditions.py")]
    sources += [ROOT / "tests/kit/other_sound/cabin.py", ROOT / "tests/kit/speechkit/noise.py"]

    imported = {
        name
        for path in sources
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        for name in ([node.module or ""] if isinstance(node, ast.ImportFrom) else [])
        + ([each.name for each in node.names] if isinstance(node, ast.Import) else [])
    }

    assert "numpy" in imported
    assert not [name for name in imported if name.partition(".")[0] == "call_model"]


def test_a_small_run(installed: Path, digits: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every recogniser hears what it may, `auto` joins its two, nothing is asked twice, and the tables tell it."""
    every = trials(digits=digits)
    said = [
        *[each for each in every if each.kind == SYNTHETIC and each.voice in ("flite-slt", "pico-en-GB")][:2],
        *[next(each for each in every if each.kind == kind) for kind in (PERSON, DIGITS, TALK)],
    ]
    weights = tmp_path / "without-somebody"
    weights.mkdir()
    for path in shipped_weights().iterdir():
        (weights / path.name).write_bytes(path.read_bytes())
    run = benchmark().evaluated
    asked = {"processes": 1, "kept": tmp_path / "kept"}

    results = run(said, (CLEAN, AT_5_DB), {"digits-somebody": weights}, **asked)

    counts = {
        (row.system, row.kind): total(results.rows, system=row.system, kind=row.kind) for row in results.rows
    }
    assert {AUTO, CALL_MODEL, POCKETSPHINX, PUBLIC} == {system for system, _ in counts}
    assert all(counts[system, SYNTHETIC].count == 4 for system in (AUTO, CALL_MODEL, POCKETSPHINX, PUBLIC))
    assert counts[AUTO, SYNTHETIC].among == 4
    assert counts[AUTO, DIGITS].count == 2
    assert counts[AUTO, TALK].no_call == 2
    assert all(each.count == 1 for each in results.pairs if each.kind == PERSON)
    assert f"{PUBLIC}: first" in page(results)
    assert "Whom vosk-model-tiny-en-us-0.1 learned from is not known here" in page(results)

    # A line that a killed run cut off is heard again; all else comes from the disk.
    (path,) = (tmp_path / "kept").glob("pocketsphinx-*.jsonl")
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([*lines[:-1], lines[-1][:40]]), encoding="utf-8")
    opened = []
    monkeypatch.setattr(
        Ear, "open", lambda ear, words, open_it=Ear.open: opened.append(ear.name) or open_it(ear, words)
    )
    monkeypatch.setattr("evaluation.hearing._opened", {})

    assert results == run(said, (CLEAN, AT_5_DB), {"digits-somebody": weights}, **asked)
    assert [POCKETSPHINX] == opened
    assert len(path.read_text(encoding="utf-8").split("\n")) == len(lines) + 2
    assert results == Results.read(json.loads(json.dumps(asdict(results))))


def test_auto_is_what_odovox_makes_of_both_lists() -> None:
    """What PocketSphinx is sure of counts beside what the call model prefers by little; and no call is one that neither hears."""
    trial = next(each for each in trials() if each.kind == SYNTHETIC)
    other = f"{trial.text} nine percent"
    preferring, sure = (
        tuple(
            Hypothesis(rank, tuple(HeardWord(word) for word in text.split()), score)
            for rank, (text, score) in enumerate(said)
        )
        for said in (((other, 0.0), (trial.text, -0.5)), ((trial.text, 0.0), (other, -5.0)))
    )
    call_model, pocketsphinx = Ear(CALL_MODEL, "call model"), Ear(POCKETSPHINX, "pocketsphinx")
    key = trial.key, CLEAN.name

    def first_right(answers: tuple[Hypothesis, ...]) -> dict[str, bool]:
        heard = {
            call_model: {key: Heard(answers, 1.0, 1.0)},
            pocketsphinx: {key: Heard(sure, 1.0, 1.0)},
        }
        return {system: verdict.first for system, _, _, verdict, _ in verdicts([trial], (CLEAN,), heard)}

    assert {CALL_MODEL: False, POCKETSPHINX: True, AUTO: True} == first_right(preferring)
    assert {CALL_MODEL: False, POCKETSPHINX: True, AUTO: False} == first_right(())


def test_without_a_model_of_its_own_a_speaker_is_left_to_pocketsphinx(digits: Path, tmp_path: Path) -> None:
    """And the tables say so."""
    said = [next(each for each in trials(digits=digits) if each.kind == DIGITS)]

    results = benchmark().evaluated(said, (CLEAN,), {}, processes=1, kept=tmp_path)

    assert [POCKETSPHINX] == [row.system for row in results.rows]
    assert "- No call model was trained without digits-somebody" in page(results)


def test_the_cost_of_listening() -> None:
    """It is that of a whole process that loads and listens."""
    cost = measured(CALL_MODEL, sounds=2)

    assert 0 < cost.share < 5
    assert 30 < cost.memory_mb < 1000
    assert 0 < cost.answer_s <= cost.slow_answer_s
    assert cost.load_s > 0
    assert 2 == cost.sounds


@pytest.mark.parametrize(
    ("auto", "other", "expected"), [(3, 12, 0.03516), (0, 5, 0.0625), (7, 7, 1.0), (0, 0, 1.0)]
)
def test_chance(auto: int, other: int, expected: float) -> None:
    """The exact sign test: 2 * sum(C(15, k), k <= 3) / 2**15 = 1152 / 32768; 2 / 2**5."""
    assert by_chance(Pair(PERSON, "clean", 160, auto, other)) == pytest.approx(expected, abs=1e-5)


def test_what_must_hold_is_told_plainly() -> None:
    """Reached, not reached, or within chance: by hand."""
    rows = tuple(
        Row(AUTO, SYNTHETIC, "flite-slt", condition, 100, first, 100, 0)
        for condition, first in (("10 dB broadband", 96), ("5 dB broadband", 94), ("0 dB broadband", 95))
    )
    pairs = (
        Pair(PERSON, "10 dB broadband", 160, 3, 12),
        Pair(PERSON, "5 dB broadband", 160, 6, 5),
        Pair(PERSON, "0 dB broadband", 160, 12, 3),
    )
    lines = page(Results("2026-11-26", 1, rows, pairs, ())).splitlines()

    told = {
        line.split(" | ")[1]: line.split(" | ")[3].rstrip(" |")
        for line in lines
        if line.startswith("| `auto`")
    }
    assert told == {
        "at least 97 %": "no",
        "at least 93 %": "yes, within chance",
        "at least 80 %": "yes",
        "no worse in any condition": "no",
        "clearly better at 5 dB broadband": "better, within chance",
        "clearly better at 0 dB broadband": "yes",
    }


def test_the_page_has_the_newest_whole_run() -> None:
    """The tables of docs/call-model.md are those of the counts that lie beside the benchmark."""
    command = benchmark()
    results = Results.read(json.loads(command.FOUND.read_text(encoding="utf-8")))
    text = command.PAGE.read_text(encoding="utf-8")

    assert put_in(text, results) == text
    assert {condition.name for condition in EVERY} == {row.condition for row in results.rows}


def test_a_page_without_its_marks_is_told() -> None:
    """Nothing is put anywhere then; with them only what lies between changes."""
    results = Results("2026-11-26", 1, (), (), ())

    with pytest.raises(ValueError, match="the page lacks"):
        put_in(f"text {BEGIN} text", results)
    assert put_in(f"a {BEGIN}old{END} b", results).startswith(
        f"a {BEGIN}\n\n`make bench-recognition`, 2026-11-26."
    )


def test_recordings_are_taken_out_of_a_source_distribution(tmp_path: Path) -> None:
    """Both kinds of file, trimmed and at the usual level; nothing else of the archive is written."""
    sound = to_samples(
        np.concatenate((np.zeros(8000), say(voice("flite-slt"), "go forward ten meters") / 4.0))
    )
    archive = tmp_path / "pocketsphinx-0.tar.gz"
    with tarfile.open(archive, "w:gz") as file:
        for name in (*read_speech.READ, *read_speech.OTHERS, "../../setup.py"):
            content = io.BytesIO()
            if name.endswith(".wav"):
                with wave.open(content, "wb") as made:
                    made.setnchannels(1)
                    made.setsampwidth(2)
                    made.setframerate(RATE_HZ)
                    made.writeframes(sound.tobytes())
            else:
                content.write(sound.tobytes())
            entry = tarfile.TarInfo(f"pocketsphinx-0/test/data/{name}")
            entry.size = content.tell()
            content.seek(0)
            file.addfile(entry, content)

    read_speech.unpack(archive, tmp_path / "data")

    assert len(read_speech.READ) + len(read_speech.OTHERS) == sum(
        path.is_file() for path in (tmp_path / "data").rglob("*")
    )
    for name in ("cards/001.wav", "goforward.raw"):
        taken = read_speech.recording(tmp_path / "data", name)
        assert len(say(voice("flite-slt"), "go forward ten meters")) == pytest.approx(len(taken), abs=200)
        assert np.abs(taken).max() > 3 * np.abs(sound).max()
    assert 14 == sum(trial.kind == "read speech" for trial in trials(sdist=tmp_path / "data"))
