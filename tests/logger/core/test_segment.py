"""The segmenter: what every stretch must be, whatever the sound, and what becomes of calls in noise."""

from __future__ import annotations

import functools
import subprocess
import tempfile
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr
from hypothesis import given, settings
from hypothesis import strategies as st
from voice_sounds import road, with_voice

from logger.core.segment import Segmenter, SegmenterSettings
from logger.model import RATE_HZ, Samples, SoundBlock, Stretch

LONGEST_S = SegmenterSettings().longest_s
PAUSE_S = SegmenterSettings().pause_s


def cut(
    samples: Samples, *sizes: int, first_sample: int = 0, settings: SegmenterSettings | None = None
) -> list[Stretch]:
    """Feed sound in blocks of the sizes given, in turn; all at once without sizes."""
    segmenter = Segmenter(settings)
    found: list[Stretch] = []
    at = turn = 0
    while at < len(samples):
        size = sizes[turn % len(sizes)] if sizes else len(samples)
        found += segmenter.feed(SoundBlock(first_sample + at, samples[at : at + size]))
        at, turn = at + size, turn + 1
    return [*found, *segmenter.close()]


def spans_s(stretches: list[Stretch]) -> list[tuple[float, float]]:
    """Return where stretches begin and end, in seconds."""
    return [(s.first_sample / RATE_HZ, (s.first_sample + len(s.samples)) / RATE_HZ) for s in stretches]


def same(one: list[Stretch], other: list[Stretch]) -> bool:
    """Whether two lists hold the same stretches, sample for sample."""
    return len(one) == len(other) and all(
        a.first_sample == b.first_sample and np.array_equal(a.samples, b.samples)
        for a, b in zip(one, other, strict=True)
    )


@functools.cache
def busy() -> Samples:
    """Return 40 s with calls, a pause inside one, and long talk."""
    return with_voice(road(40), (3, 5), (5.4, 7), (11, 13.5), (17, 38))


# --- what holds for any sound -----------------------------------------------------------------------------


@given(
    sizes=st.lists(st.integers(1, 40_000), min_size=1, max_size=8).filter(
        lambda sizes: sum(sizes) > 800 * len(sizes)
    )
)
@settings(max_examples=12, deadline=None)
def test_blocks_do_not_matter(sizes: list[int]) -> None:
    """The same sound gives the same stretches, sample for sample, however it is divided into blocks."""
    assert same(cut(busy()), cut(busy(), *sizes))


@given(
    seed=st.integers(0, 10_000),
    seconds=st.floats(0.01, 30),
    talk=st.lists(st.tuples(st.floats(0, 25), st.floats(0.05, 12)), max_size=5),
    longest_s=st.floats(3, 10),
)
@settings(max_examples=25, deadline=None)
def test_stretches_are_pieces_of_the_sound_in_order(
    seed: int, seconds: float, talk: list[tuple[float, float]], longest_s: float
) -> None:
    """Stretches hold the sound as it was, do not overlap, are not empty and never longer than the limit."""
    spans = [(begin, min(begin + length, seconds)) for begin, length in talk if begin + 0.01 < seconds]
    samples = with_voice(road(seconds, seed), *spans)

    stretches = cut(samples, 16_000, first_sample=777, settings=SegmenterSettings(longest_s=longest_s))

    last_end = 777
    for stretch in stretches:
        begin, end = stretch.first_sample, stretch.first_sample + len(stretch.samples)
        assert last_end <= begin < end <= 777 + len(samples)
        assert np.array_equal(samples[begin - 777 : end - 777], stretch.samples)
        assert len(stretch.samples) <= longest_s * RATE_HZ + 160
        last_end = end


def test_a_long_stretch_whose_voice_has_just_ended_is_not_gone_on_with() -> None:
    """The limit is reached in the pause after 6.5 s of voice: what follows is no stretch of its own."""
    samples = with_voice(road(15.0, 0), (0.0, 6.5))

    stretches = cut(samples, 16_000, first_sample=777, settings=SegmenterSettings(longest_s=4.0))

    assert 2 == len(stretches)
    assert 6.5 <= spans_s(stretches)[-1][1] - 777 / RATE_HZ < 7.0


@given(
    data=st.binary(min_size=2, max_size=60_000).filter(lambda data: len(data) % 2 == 0),
    times=st.integers(1, 4),
)
@settings(max_examples=20, deadline=None)
def test_any_samples_will_do(data: bytes, times: int) -> None:
    """Arbitrary samples, full scale included, raise nothing and warn of nothing."""
    samples = np.tile(np.frombuffer(data, np.int16), times)

    assert all(len(stretch.samples) for stretch in cut(samples, 1600))


@pytest.mark.parametrize("sample", [0, 1, 32767, -32768])
def test_a_constant_is_no_speech(sample: int) -> None:
    """Digital silence and a stuck input give nothing."""
    assert [] == cut(np.full(10 * RATE_HZ, sample, np.int16))


def test_memory_is_bounded() -> None:
    """Five minutes, half of them talk, are cut within 3 MB at the peak; their sound alone is 9.6 MB."""
    minute = with_voice(road(60), (5, 35))
    segmenter = Segmenter()
    tracemalloc.start()
    try:
        for at in range(5 * 60):
            begin = at % 60 * RATE_HZ
            segmenter.feed(SoundBlock(at * RATE_HZ, minute[begin : begin + RATE_HZ]))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()

    assert peak < 3_000_000


# --- where stretches begin and end ------------------------------------------------------------------------


def test_a_call_is_one_stretch_with_padding() -> None:
    """A voice from 5 to 8 s gives one stretch that begins 0.3-0.7 s before and ends 0.2-0.7 s after it."""
    [(begin_s, end_s)] = spans_s(cut(with_voice(road(15), (5, 8))))

    assert 4.3 < begin_s < 4.75
    assert 8.2 < end_s < 8.7


@pytest.mark.parametrize("pause_s", [0.2, 0.3, 0.45, 0.5])
def test_a_pause_inside_a_call_does_not_split_it(pause_s: float) -> None:
    """Pauses up to half a second between the readings of one call leave it whole."""
    assert 1 == len(cut(with_voice(road(20), (5, 7), (7 + pause_s, 9), (9 + pause_s, 11))))


def test_calls_with_a_second_and_a_half_between_are_two() -> None:
    """Calls far enough apart are kept apart."""
    assert 2 == len(cut(with_voice(road(20), (5, 7), (8.5, 10))))


def test_a_stretch_comes_out_promptly() -> None:
    """Fed live in blocks of 50 ms, a stretch comes out within `pause_s` + 0.4 s of its last speech."""
    samples = with_voice(road(15), (5, 8))
    segmenter = Segmenter()
    out_s = [
        (at + 800) / RATE_HZ
        for at in range(0, len(samples), 800)
        if segmenter.feed(SoundBlock(at, samples[at : at + 800]))
    ]

    assert 1 == len(out_s)
    assert 8 < out_s[0] <= 8 + PAUSE_S + 0.4


def test_a_call_that_begins_with_the_sound_is_kept_from_its_first_sample() -> None:
    """A call already under way when the sound begins is not cut at its beginning."""
    [stretch] = cut(with_voice(road(12), (0.0, 2.5)))

    assert 0 == stretch.first_sample


def test_a_call_that_ends_with_the_sound_is_kept_to_its_last_sample() -> None:
    """A call cut short by the end of the sound comes out at `close`, with all there is."""
    samples = with_voice(road(12), (10.5, 12))

    [stretch] = cut(samples)

    assert len(samples) == stretch.first_sample + len(stretch.samples)


def test_a_sound_shorter_than_a_second_is_judged_too() -> None:
    """A file of 0.9 s with a voice in its middle gives a stretch."""
    assert 1 == len(cut(with_voice(road(0.9, rms=20), (0.3, 0.8), rms=1500)))


def test_long_talk_is_cut_where_it_is_quiet_and_nothing_is_lost() -> None:
    """Talk of 50 s is cut into stretches that follow each other without a gap, in a pause where there is one."""
    talk = [(5, 22), (22.4, 40), (40.4, 55)]
    spans = spans_s(cut(with_voice(road(60), *talk)))

    assert len(spans) >= 3
    assert [end for _, end in spans[:-1]] == [begin for begin, _ in spans[1:]]
    assert max(end - begin for begin, end in spans) <= LONGEST_S
    assert 21.8 < spans[0][1] < 22.6
    assert spans[0][0] < 5
    assert spans[-1][1] > 55


# --- lost sound -------------------------------------------------------------------------------------------


def test_lost_sound_closes_what_is_open_and_starts_afresh() -> None:
    """A jump forwards ends the open stretch at the last sample before it; what follows is as if cut on its own."""
    samples = with_voice(road(20), (4, 6), (12, 14))
    before, after, jump = samples[: 5 * RATE_HZ], samples[8 * RATE_HZ :], 100 * RATE_HZ
    segmenter = Segmenter()

    first = segmenter.feed(SoundBlock(0, before))
    second = segmenter.feed(SoundBlock(jump, after))
    rest = segmenter.close()

    assert () == first
    assert same(cut(before) + cut(after, first_sample=jump), [*second, *rest])
    assert 5 * RATE_HZ == second[0].first_sample + len(second[0].samples)


def test_sound_that_goes_back_is_a_callers_mistake() -> None:
    """A block that begins before the last one ended raises ValueError."""
    segmenter = Segmenter()
    segmenter.feed(SoundBlock(0, np.zeros(100, np.int16)))

    with pytest.raises(ValueError, match="begins at sample 50, before 100"):
        segmenter.feed(SoundBlock(50, np.zeros(100, np.int16)))


def test_a_closed_segmenter_can_be_used_again() -> None:
    """After `close` a segmenter behaves like a new one, and closing twice gives nothing."""
    segmenter = Segmenter()
    first = [*segmenter.feed(SoundBlock(0, busy())), *segmenter.close()]

    assert () == segmenter.close()
    assert same(first, [*segmenter.feed(SoundBlock(0, busy())), *segmenter.close()])


def test_an_empty_block_changes_nothing() -> None:
    """A block without samples is no gap, wherever it says it begins."""
    segmenter = Segmenter()

    assert () == segmenter.feed(SoundBlock(5, np.empty(0, np.int16)))
    assert () == segmenter.close()


# --- noise ------------------------------------------------------------------------------------------------


def share_kept(samples: Samples) -> float:
    """Return the share of the sound that lies in stretches."""
    return sum(len(stretch.samples) for stretch in cut(samples)) / len(samples)


def test_steady_noise_is_not_speech() -> None:
    """Three minutes of road noise are kept to less than a twentieth."""
    assert share_kept(np.round(road(180)).astype(np.int16)) < 0.05


@pytest.mark.parametrize("step_db", [-12, -6, 6, 12])
def test_another_road_surface_is_not_speech(step_db: float) -> None:
    """Noise that becomes louder or softer in all bands every 20 s is kept to less than a tenth."""
    level = np.where(np.arange(180 * RATE_HZ) // (20 * RATE_HZ) % 2, 10 ** (step_db / 20), 1.0)

    assert share_kept(np.clip(np.round(road(180) * level), -32768, 32767).astype(np.int16)) < 0.1


def test_bumps_are_not_speech() -> None:
    """Thumps of a tenth of a second, ten times as loud as the road, every 3 s, are kept to less than a tenth."""
    sound = road(120)
    thump = road(0.3, seed=9, rms=3000) * np.exp(-np.arange(int(0.3 * RATE_HZ)) / (0.05 * RATE_HZ))
    for at in range(3, 117, 3):
        sound[at * RATE_HZ : at * RATE_HZ + len(thump)] += thump

    assert share_kept(np.clip(np.round(sound), -32768, 32767).astype(np.int16)) < 0.1


# --- speech -----------------------------------------------------------------------------------------------


def spoken(text: str, voice_name: str) -> np.ndarray:
    """Return a text spoken by Debian's espeak-ng, silence at the ends removed (40 dB below the loudest)."""
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "spoken.wav"
        subprocess.run(["espeak-ng", "-v", voice_name, "-w", wav, text], check=True)
        sound, rate_hz = soundfile.read(wav)
    sound = soxr.resample(sound, rate_hz, RATE_HZ)
    loud = np.flatnonzero(np.abs(sound) > np.max(np.abs(sound)) / 100)
    return sound[loud[0] : loud[-1] + 1]


@pytest.mark.parametrize("voice_name", ["en-us", "en-gb+f4"])
@pytest.mark.parametrize("ratio_db", [40, 10, 5])
def test_weak_beginnings_and_ends_of_spoken_calls_are_kept(voice_name: str, ratio_db: float) -> None:
    """Calls that begin with ch or f and end with t or s are whole in one stretch, down to 5 dB in 300-3400 Hz."""
    texts = [
        "checkpoint four percent",
        "forty five percent",
        "five point three miles",
        "checkpoint sixty six percent",
    ]
    noise = road(12 * len(texts) + 6, seed=4, rms=1)
    band = np.fft.rfft(noise)
    hz = np.fft.rfftfreq(len(noise), 1 / RATE_HZ)
    band[(hz < 300) | (hz > 3400)] = 0
    noise *= 300 / np.std(np.fft.irfft(band, len(noise)))
    sound, truths = noise, []
    for number, text in enumerate(texts):
        speech = spoken(text, voice_name)
        speech *= 300 * 10 ** (ratio_db / 20) / np.std(speech)
        begin = (6 + 12 * number) * RATE_HZ
        sound[begin : begin + len(speech)] += speech
        truths.append((begin, begin + len(speech)))
    samples = np.clip(np.round(sound * min(1, 30000 / np.max(np.abs(sound)))), -32768, 32767).astype(np.int16)

    stretches = cut(samples)

    assert len(truths) == len(stretches)
    for (begin, end), stretch in zip(truths, stretches, strict=True):
        assert stretch.first_sample <= begin
        assert end <= stretch.first_sample + len(stretch.samples)


def test_what_is_open_is_what_would_be_cut() -> None:
    """While a voice speaks there is an open stretch that begins where the cut one does; in quiet there is none."""
    sound = with_voice(road(14), (6.0, 9.0))
    segmenter = Segmenter()
    seen: dict[float, int] = {}
    done: list[Stretch] = []
    for at in range(0, len(sound), RATE_HZ // 10):
        done += segmenter.feed(SoundBlock(at, sound[at : at + RATE_HZ // 10]))
        now = segmenter.open_stretch
        if now is not None:
            assert now.first_sample < now.clear_end <= now.voice_end <= now.judged_end <= at + RATE_HZ // 10
            seen[at / RATE_HZ] = now.first_sample

    (stretch,) = done
    assert same(done, cut(sound))  # to look changes nothing
    assert {stretch.first_sample} == set(seen.values())
    assert 6.2 < min(seen) < 7.2
    assert 9.0 < max(seen) < 10.5
