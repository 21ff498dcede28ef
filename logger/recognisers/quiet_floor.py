"""A faint noise under sound that is too clean. Pure."""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import NDArray

from logger.model import RATE_HZ, Samples
from logger.recognisers.loudness import frame_levels

BELOW_SPEECH_DB = 30.0
_LOWEST_HZ = 60.0
_LENGTH = 1 << 19
_SEED = 20
_SPEECH_SHARE = 0.8
_QUIET_SHARE = 0.1
"""Of the frames of a stretch these shares are quieter than what counts as its speech, and as its own noise."""


def with_floor(samples: Samples) -> Samples:
    """Return the sound with pink noise 30 dB below its speech, the same each time; as it is if it has that much.

    A model that learned from people in rooms takes digital silence for nothing it knows. Shape and level were chosen
    on TUNING voices without noise, where the gain was two calls of 72, too few to be sure of.
    """
    levels = frame_levels(samples)
    if not len(levels):
        return samples
    quiet, speech = np.quantile(levels, (_QUIET_SHARE, _SPEECH_SHARE))
    level = speech * 10 ** (-BELOW_SPEECH_DB / 20)
    if quiet >= level:
        return samples
    noisy: Samples = np.clip(
        np.rint(samples + level * np.resize(_pink(), len(samples))), -32768, 32767
    ).astype(np.int16)
    return noisy


@functools.cache
def _pink() -> NDArray[np.float64]:
    """Return noise that falls 3 dB an octave from 60 Hz, at a root mean square of 1."""
    freq_hz = np.fft.rfftfreq(_LENGTH, 1 / RATE_HZ)
    shape = np.where(freq_hz < _LOWEST_HZ, 0.0, (np.maximum(freq_hz, _LOWEST_HZ) / _LOWEST_HZ) ** -0.5)
    white = np.random.default_rng(_SEED).standard_normal(_LENGTH)
    sound = np.fft.irfft(np.fft.rfft(white) * shape, _LENGTH)
    pink: NDArray[np.float64] = sound / sound.std()
    return pink
