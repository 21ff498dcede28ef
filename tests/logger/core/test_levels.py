"""Levels against values that are known without us: sines, square waves, single steps of 16 bits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from logger.core.levels import (
    SILENCE_DBFS,
    clipped_share,
    loud_dbfs,
    meter_text,
    noise_floor_dbfs,
    peak_dbfs,
    rms_dbfs,
)
from logger.model import RATE_HZ, Samples

SECOND = np.arange(RATE_HZ) / RATE_HZ


def sine(amplitude: float, freq_hz: float = 1000.0) -> Samples:
    """One second of a sine."""
    return np.rint(amplitude * np.sin(2 * np.pi * freq_hz * SECOND)).astype(np.int16)


@pytest.mark.parametrize(
    ("samples", "expected"),
    [
        (sine(32767), -3.0103),  # a full-scale sine: 20 log10(1/sqrt 2)
        (sine(3276.8), -23.0103),  # a tenth of it: 20 dB less
        (np.where(np.arange(RATE_HZ) % 2, 32767, -32768).astype(np.int16), 0.0),  # a full-scale square wave
        (np.full(RATE_HZ, 1, np.int16), -90.309),  # one step: 20 log10(1/32768)
        (np.full(RATE_HZ, -32768, np.int16), 0.0),  # the one value that has no positive twin
    ],
)
def test_known_levels(samples: Samples, expected: float) -> None:
    """The root mean square of sines, square waves and one step."""
    assert pytest.approx(expected, abs=0.002) == rms_dbfs(samples)


def test_known_peaks() -> None:
    """The peak of a sine is its amplitude; -32768 is exactly full scale."""
    assert pytest.approx(-6.0206, abs=0.001) == peak_dbfs(sine(16384))
    assert peak_dbfs(np.array([0, -32768, 5], np.int16)) == 0.0


def test_silence_has_a_level_that_can_be_written() -> None:
    """No power, and no samples, give a finite level below one step."""
    for nothing in (np.zeros(RATE_HZ, np.int16), np.empty(0, np.int16)):
        for level in (rms_dbfs, peak_dbfs, noise_floor_dbfs, loud_dbfs):
            assert level(nothing) == SILENCE_DBFS < -90.4
        assert clipped_share(nothing) == 0.0


def test_noise_and_speech_are_told_apart() -> None:
    """Noise of -50 dBFS with a louder second in five: the floor is the noise, the loud level is not."""
    rng = np.random.default_rng(7)
    noise = rng.normal(0, 32768 * 10 ** (-50 / 20), 5 * RATE_HZ)
    noise[2 * RATE_HZ : 3 * RATE_HZ] += sine(3276.8)
    samples = np.rint(noise).astype(np.int16)

    assert pytest.approx(-50.0, abs=0.7) == noise_floor_dbfs(samples)
    assert pytest.approx(-23.0, abs=0.2) == loud_dbfs(samples)


def test_clipping_is_counted_at_both_ends() -> None:
    """A sine of twice full scale, cut off, is at the ends for two thirds of the time: 1 - 2/pi asin(1/2)."""
    cut = np.clip(2 * 32768 * np.sin(2 * np.pi * 7.3 * SECOND), -32768, 32767).astype(np.int16)

    assert pytest.approx(1 - 2 / math.pi * math.asin(0.5), abs=0.01) == clipped_share(cut)
    assert clipped_share(sine(32766)) == 0.0


@pytest.mark.parametrize(
    ("level", "held", "expected"),
    [
        (0.0, 0.0, "[##########] 0 dBFS"),
        (3.0, 3.0, "[##########] 3 dBFS"),
        (-60.0, -60.0, "[----------] -60 dBFS"),
        (-99.0, 0.0, "[---------|] -99 dBFS"),
        (-30.0, -30.0, "[#####-----] -30 dBFS"),
        (-30.0, -18.0, "[#####-|---] -30 dBFS"),
    ],
)
def test_the_meter(level: float, held: float, expected: str) -> None:
    """The bar is as wide at any level."""
    assert expected == meter_text(level, held, width=10)
