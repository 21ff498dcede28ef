"""Listens in while a sound file is read, and says afterwards what was odd about it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from logger.model import Issue

_FULL_SCALE = 0.9999
_CLIPPED_SHARE = 1e-4
_CLIPPED_FRAMES = 16
"""A peak that just touches full scale is fine; this many frames, and this share of all, are not (our own figures)."""
_SILENT_PEAK = 4 / 32768
"""Four steps of 16 bits: no more than rounding noise and dither."""
_CANCELLED = 0.01
"""Channels whose mean has less than this share of their own power are the same sound with opposite signs."""

_Frames = NDArray[np.float32]


class Ear:
    """Mixes the frames of one file to mono, cleans them, and counts what was wrong with them."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._frames = 0
        self._channels = 1
        self._not_finite = 0
        self._clipped = 0
        self._peak = 0.0
        self._power = 0.0
        self._mixed_power = 0.0
        self._cut_off_at_s: float | None = None

    def hear(self, frames: _Frames) -> _Frames:
        """Take frames of shape (n, channels), full scale 1, and return their mean over the channels, shape (n,).

        What is no number becomes silence.
        """
        finite = np.isfinite(frames)
        if not finite.all():
            self._not_finite += int(np.count_nonzero(~finite.all(axis=1)))
            frames = np.where(finite, frames, np.float32(0))
        loudness = np.abs(frames)
        self._frames += len(frames)
        self._channels = frames.shape[1]
        self._clipped += int(np.count_nonzero((loudness >= _FULL_SCALE).any(axis=1)))
        self._peak = max(self._peak, float(loudness.max()))
        if self._channels == 1:
            return frames[:, 0]
        mixed: _Frames = frames.mean(axis=1, dtype=np.float32)
        self._power += float(np.square(frames, dtype=np.float64).mean()) * len(frames)
        self._mixed_power += float(np.square(mixed, dtype=np.float64).sum())
        return mixed

    def note_cut_off(self, at_s: float) -> None:
        """Remember that the file ended before its sound did."""
        self._cut_off_at_s = at_s

    def issues(self) -> tuple[Issue, ...]:
        """Return what was odd about all that was heard."""
        name = self._path.name
        found: list[Issue] = []
        if self._cut_off_at_s is not None:
            what = f"{name} is cut off: what could be read ends after {self._cut_off_at_s:.1f} s"
            found.append(Issue("sound_cut_off", what))
        if self._not_finite:
            what = f"{self._not_finite} samples of {name} are no numbers and were taken as silence"
            found.append(Issue("sound_not_finite", what))
        if self._frames and self._peak <= _SILENT_PEAK:
            found.append(Issue("sound_silent", f"{name} is silent: was the microphone connected?"))
        elif self._channels > 1 and self._mixed_power < _CANCELLED * self._power:
            what = f"the channels of {name} cancel each other: one is the other with its sign turned; give one of them"
            found.append(Issue("sound_channels_cancel", what))
        if self._clipped >= max(_CLIPPED_FRAMES, _CLIPPED_SHARE * self._frames):
            share = 100 * self._clipped / self._frames
            what = f"{name} is clipped: {share:.2g} % of it is at full scale; record with less gain"
            found.append(Issue("sound_clipped", what))
        return tuple(found)
