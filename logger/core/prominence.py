"""How far a voice stands out of the noise of a car, a tenth of a second at a time. Pure.

Loudness says little in a car: gusts, bumps and another road surface change it more than a voice does. What a voice
does, and the road does not, is to lift a few bands far above the others for a quarter of a second. So the measure
used here is *prominence*: how far the three bands that rose most stand above the median band, in dB, each band
taken against its own recent floor (a low quantile, after the idea of minimum statistics). It stays put when all
bands rise together.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logger.model import RATE_HZ, Samples

HOP = RATE_HZ // 100
"""Samples from one frame to the next."""
WINDOW = RATE_HZ // 40
"""Samples that a frame looks at."""
_FFT = 512
_STEP_FRAMES = 10
STEP = HOP * _STEP_FRAMES
"""Samples of a step, which are judged together."""
REACH = STEP - HOP + WINDOW
"""Samples from the first of a step to the last that its frames look at."""

_EDGES_HZ = (300, 450, 600, 800, 1000, 1300, 1600, 2000, 2500, 3100, 3800, 4800, 6000, 7500)
"""Below 300 Hz is where the car is loud; above 3400 Hz, where it is quiet, lie the weak s, f, ch and t."""
_TOP = 3
_SMOOTH_FRAMES = 9
"""Band powers are averaged over 90 ms before they are compared."""
_VOICE_FRAMES = 21
"""Prominence is averaged over 210 ms, about a syllable."""
LAG_FRAMES = (_SMOOTH_FRAMES - 1) // 2 + (_VOICE_FRAMES - 1) // 2
"""Both averages together describe what happened this many frames ago."""
_MOST_DB = 12.0
"""One frame's prominence counts no more than this, so that a click is no syllable."""

_FLOOR_STEPS = 120
_FLOOR_QUANTILE = 0.2
"""A band's floor is the lowest fifth of its level in the last 12 s: a voice leaves each band free that often."""
_REST_STEPS = 200
_REST_QUANTILE = 0.3
_REST_LOW_DB, _REST_HIGH_DB = 0.8, 2.5
"""Prominence at rest depends on the noise: a low quantile of the last 20 s, kept within these bounds."""
_STILL_RMS = 3.0
"""Sound below this level (16-bit units) is as good as silence; it keeps coding and rounding noise from counting."""

_FRAME_INDEX = np.arange(_STEP_FRAMES)[:, np.newaxis] * HOP + np.arange(WINDOW)
_SMOOTH_INDEX = np.arange(_STEP_FRAMES)[:, np.newaxis] + np.arange(_SMOOTH_FRAMES)
_VOICE_INDEX = np.arange(_STEP_FRAMES)[:, np.newaxis] + np.arange(_VOICE_FRAMES)
"""Which samples or frames each of a step's ten frames looks at."""

Levels = NDArray[np.float64]
Blank = NDArray[np.bool_]
"""Of each frame of a step, whether it is to be taken for one in which nobody speaks."""


class Meter:
    """Turns sound into prominence, a step at a time; `levels` and `prominence` take turns, or levels come first for some steps."""

    def __init__(self) -> None:
        bins = np.rint(np.array(_EDGES_HZ) * _FFT / RATE_HZ).astype(np.intp)
        self._starts, self._stop = bins[:-1], int(bins[-1])
        self._window = np.hanning(WINDOW + 1)[:-1]
        still = _STILL_RMS**2 * float(np.sum(self._window**2))
        self._still = still * np.diff(bins)
        self._powers = np.repeat(self._still[np.newaxis], _SMOOTH_FRAMES - 1, axis=0)
        self._frames = np.zeros(_VOICE_FRAMES - 1)
        self._floors = _Recent(_FLOOR_STEPS, len(self._starts))
        self._rests = _Recent(_REST_STEPS, 1)

    def levels(self, samples: Samples) -> Levels:
        """Return the smoothed band levels of one step, shape (frames, bands), in dB; they feed the floors."""
        powers = self._band_powers(samples, _STEP_FRAMES)
        self._floors.add(10 * np.log10(powers.mean(axis=0)))
        recent = np.concatenate((self._powers, powers))
        self._powers = recent[-_SMOOTH_FRAMES + 1 :]
        return _smoothed_levels(recent, _STEP_FRAMES)

    def prominence(self, levels: Levels, blank: Blank | None = None) -> list[float]:
        """Return prominence above that at rest, in dB, for each frame of one step; `blank` frames have none themselves."""
        recent = self._with_prominence_of(levels, blank)
        self._frames = recent[-_VOICE_FRAMES + 1 :]
        smooth = recent[_VOICE_INDEX].mean(axis=1)
        if blank is None or self._rests.is_empty:  # what is taken for nothing is no example of the noise
            self._rests.add(smooth.mean(keepdims=True))
        return self._above_rest(smooth)

    def prominence_ahead(self, samples: Samples, blank: Blank | None = None) -> list[float]:
        """Return about what `prominence` will for the first frames of a step, whose sound has come only as far as them."""
        count = (len(samples) - WINDOW) // HOP + 1
        if count < 1:
            return []
        recent = np.concatenate((self._powers, self._band_powers(samples, count)))
        frames = self._with_prominence_of(_smoothed_levels(recent, count), blank)
        return self._above_rest(frames[_VOICE_INDEX[:count]].mean(axis=1))

    def _band_powers(self, samples: Samples, count: int) -> Levels:
        frames = samples[_FRAME_INDEX[:count]].astype(np.float64)
        spectra = np.fft.rfft(frames * self._window, _FFT)[:, : self._stop]
        powers: Levels = np.add.reduceat(spectra.real**2 + spectra.imag**2, self._starts, axis=1)
        return powers + self._still

    def _with_prominence_of(self, levels: Levels, blank: Blank | None) -> Levels:
        """Return how far the top bands of the frames stand out, after those of the frames before them."""
        excess = levels - self._floors.low_quantile(_FLOOR_QUANTILE)
        bands = excess.shape[1]
        excess.partition((bands // 2, bands - _TOP), axis=1)
        raw = excess[:, -_TOP:].mean(axis=1) - excess[:, bands // 2]
        if blank is not None:
            raw[blank] = 0.0
        return np.concatenate((self._frames, np.minimum(raw, _MOST_DB)))

    def _above_rest(self, smooth: Levels) -> list[float]:
        rest = min(max(float(self._rests.low_quantile(_REST_QUANTILE)[0]), _REST_LOW_DB), _REST_HIGH_DB)
        above: list[float] = (smooth - rest).tolist()
        return above


def _smoothed_levels(powers: Levels, count: int) -> Levels:
    """Return the levels in dB of the last `count` frames of band powers, averaged with those before them."""
    levels: Levels = 10 * np.log10(powers[_SMOOTH_INDEX[:count]].mean(axis=1))
    return levels


class _Recent:
    """The last `size` rows of numbers, in no particular order."""

    def __init__(self, size: int, width: int) -> None:
        self._rows = np.zeros((size, width))
        self._added = 0

    def add(self, row: Levels) -> None:
        self._rows[self._added % len(self._rows)] = row
        self._added += 1

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to take a quantile of."""
        return not self._added

    def low_quantile(self, share: float) -> Levels:
        rows = self._rows[: self._added]
        rank = int(share * len(rows))
        lowest: Levels = np.partition(rows, rank, axis=0)[rank]
        return lowest
