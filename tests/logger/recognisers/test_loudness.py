"""The level at which a stretch is heard."""

from __future__ import annotations

import numpy as np
import pytest

from logger.model import RATE_HZ, Samples
from logger.recognisers.loudness import NOMINAL_RMS, at_usual_level


def hiss(rms: float) -> Samples:
    """Return two seconds of white noise."""
    return np.rint(rms * np.random.default_rng(4).standard_normal(2 * RATE_HZ)).astype(np.int16)


def rms_of(samples: Samples) -> float:
    """Return the root mean square."""
    return float(np.sqrt(np.mean(samples.astype(np.float64) ** 2)))


@pytest.mark.parametrize("rms", [700.0, NOMINAL_RMS, 5500.0])
def test_sound_near_the_usual_level_stays(rms: float) -> None:
    """From 8 dB below it to 12 dB above not a sample changes."""
    assert np.array_equal(hiss(rms), at_usual_level(hiss(rms)))


@pytest.mark.parametrize("rms", [100.0, 400.0, 9000.0])
def test_sound_far_from_it_is_brought_there(rms: float) -> None:
    """Quiet or loud, its level becomes the usual one within a decibel."""
    assert abs(20 * np.log10(rms_of(at_usual_level(hiss(rms))) / NOMINAL_RMS)) < 1.0


def test_faint_hiss_is_not_made_loud() -> None:
    """The gain has an end: what is next to silence stays far below speech."""
    assert rms_of(at_usual_level(hiss(3.0))) < 0.1 * NOMINAL_RMS


def test_silence_and_no_sound_stay() -> None:
    """Zeros, less than a frame, and nothing at all come back as they are."""
    for sound in (np.zeros(RATE_HZ, np.int16), np.ones(10, np.int16), np.zeros(0, np.int16)):
        assert np.array_equal(sound, at_usual_level(sound))
