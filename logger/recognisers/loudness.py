"""Sound far from the level that a model learned at is brought to it. Pure."""

from __future__ import annotations

import numpy as np

from logger.model import RATE_HZ, Samples

NOMINAL_RMS = 1642.0
"""-26 dB below full scale: the level at which the call model's voices spoke, give or take 7 dB."""
_QUIETEST, _LOUDEST = 0.4, 4.0
"""Between these multiples of it a sound is left as it is."""
_MOST_GAIN = 30.0
_FRAME = RATE_HZ // 50
_LOUD_SHARE = 0.9


def at_usual_level(samples: Samples) -> Samples:
    """Return the sound with its loud frames at the usual level, unless they are near it already.

    The loud frames are those above nine in ten of 20 ms. What clips stays clipped: only its level changes.
    """
    frames = samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME).astype(np.float64)
    if not len(frames):
        return samples
    loud = float(np.quantile(np.sqrt(np.mean(frames**2, axis=1)), _LOUD_SHARE))
    if loud == 0 or _QUIETEST * NOMINAL_RMS <= loud <= _LOUDEST * NOMINAL_RMS:
        return samples
    gain = min(NOMINAL_RMS / loud, _MOST_GAIN)
    scaled: Samples = np.clip(np.rint(samples * gain), -32768, 32767).astype(np.int16)
    return scaled
