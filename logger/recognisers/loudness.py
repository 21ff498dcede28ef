"""How loud sound is; sound far from the level that a model learned at is brought to it. Pure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logger.model import RATE_HZ, Samples

NOMINAL_RMS = 1642.0
"""-26 dB below full scale: the level at which the call model's voices spoke, give or take 7 dB."""
_QUIETEST, _LOUDEST = 0.4, 4.0
"""Between these multiples of it a sound is left as it is."""
_MOST_GAIN = 30.0
_FRAME = RATE_HZ // 50
_LOUD_SHARE = 0.9


def frame_levels(samples: Samples) -> NDArray[np.float64]:
    """Return the root mean square of each whole 20 ms frame, shape (frames,)."""
    frames = samples[: len(samples) // _FRAME * _FRAME].astype(np.float64).reshape(-1, _FRAME)
    levels: NDArray[np.float64] = np.sqrt((frames**2).mean(axis=1))
    return levels


def at_usual_level(samples: Samples) -> Samples:
    """Return the sound with its loud frames at the usual level, unless they are near it already.

    The loud frames are those above nine in ten of 20 ms. What clips stays clipped: only its level changes.
    """
    levels = frame_levels(samples)
    if not len(levels):
        return samples
    loud = float(np.quantile(levels, _LOUD_SHARE))
    if loud == 0 or _QUIETEST * NOMINAL_RMS <= loud <= _LOUDEST * NOMINAL_RMS:
        return samples
    gain = min(NOMINAL_RMS / loud, _MOST_GAIN)
    scaled: Samples = np.clip(np.rint(samples * gain), -32768, 32767).astype(np.int16)
    return scaled
