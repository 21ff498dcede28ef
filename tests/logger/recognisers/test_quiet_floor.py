"""The faint noise under clean sound: its level, its slope, and that it is the same each time."""

from __future__ import annotations

import numpy as np
import pytest

from logger.model import RATE_HZ
from logger.recognisers.quiet_floor import BELOW_SPEECH_DB, with_floor


def _tone(seconds: float, level: float) -> np.ndarray:
    """Return a tone after a seventh of silence."""
    at_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    tone = np.rint(level * np.sqrt(2) * np.sin(2 * np.pi * 1000 * at_s)).astype(np.int16)
    tone[: round(0.15 * len(tone))] = 0
    return tone


def test_the_noise_lies_30_db_below_the_sound() -> None:
    """A tone of known level gets noise whose level is 30 dB below it, within half a decibel."""
    tone = _tone(4, 3000)
    added = with_floor(tone).astype(np.float64) - tone

    below_db = 20 * np.log10(3000 / np.sqrt((added**2).mean()))
    assert below_db == pytest.approx(BELOW_SPEECH_DB, abs=0.5)


def test_the_noise_falls_3_db_an_octave() -> None:
    """Pink noise has the same power in each octave (its definition in acoustics), here within 1.5 dB from 125 Hz to 4 kHz."""
    tone = _tone(30, 5000)
    power = np.abs(np.fft.rfft(with_floor(tone).astype(np.float64) - tone)) ** 2
    freq_hz = np.fft.rfftfreq(len(tone), 1 / RATE_HZ)
    octaves = [power[(freq_hz >= low) & (freq_hz < 2 * low)].sum() for low in (125, 250, 500, 1000, 2000)]

    assert 10 * np.log10(max(octaves) / min(octaves)) < 1.5


def test_sound_with_noise_of_its_own_stays_as_it_is() -> None:
    """A tone over noise 20 dB below it, as in a cabin, is left alone."""
    rng = np.random.default_rng(3)
    tone = _tone(4, 3000)
    noisy = (tone + 300 * rng.standard_normal(len(tone))).astype(np.int16)
    assert np.array_equal(noisy, with_floor(noisy))


def test_silence_stays_silent_and_nothing_changes_between_calls() -> None:
    """Digital silence, nothing and a few samples stay as they are; one sound gives one result; loud sound is clipped."""
    for count in (0, 5, 319, 5000):
        silence = np.zeros(count, dtype=np.int16)
        assert np.array_equal(silence, with_floor(silence))
    loud = np.full(RATE_HZ, 32767, dtype=np.int16)
    loud[: RATE_HZ // 4] = 0
    assert with_floor(loud).dtype == np.int16
    assert np.array_equal(with_floor(loud), with_floor(loud))
    assert with_floor(loud)[RATE_HZ // 4 :].min() > 0


def test_sound_longer_than_the_noise_is_covered() -> None:
    """The noise comes again after half a minute: the last second of forty has its share."""
    tone = _tone(40, 3000)
    added = (with_floor(tone).astype(np.float64) - tone)[-RATE_HZ:]
    assert np.sqrt((added**2).mean()) == pytest.approx(3000 * 10 ** (-BELOW_SPEECH_DB / 20), rel=0.3)
