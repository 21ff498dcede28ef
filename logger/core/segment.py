"""Finding the stretches of sound in which somebody speaks, in the noise of a car.

Loudness says little in a car: gusts, bumps and another road surface change it more than a voice does. What a voice
does, and the road does not, is to lift a few bands far above the others for a quarter of a second. So the measure
used here is *prominence*: how far the three bands that rose most stand above the median band, in dB, each band
taken against its own recent floor (a low quantile, after the idea of minimum statistics). It stays put when all
bands rise together. `tests/benchmarks/segmenting.py` measures it.

Everything is computed in steps of a tenth of a second counted from the first sample, whatever the size of the
blocks fed, so the stretches do not depend on it.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logger.model import RATE_HZ, Samples, SoundBlock, Stretch

_HOP = RATE_HZ // 100
_WINDOW = RATE_HZ // 40
_FFT = 512
_STEP_FRAMES = 10
_STEP = _HOP * _STEP_FRAMES
_REACH = _STEP - _HOP + _WINDOW
"""Samples from the first of a step to the last that its frames look at."""

_EDGES_HZ = (300, 450, 600, 800, 1000, 1300, 1600, 2000, 2500, 3100, 3800, 4800, 6000, 7500)
"""Below 300 Hz is where the car is loud; above 3400 Hz, where it is quiet, lie the weak s, f, ch and t."""
_TOP = 3
_SMOOTH_FRAMES = 9
"""Band powers are averaged over 90 ms before they are compared."""
_VOICE_FRAMES = 21
"""Prominence is averaged over 210 ms, about a syllable."""
_LAG_FRAMES = (_SMOOTH_FRAMES - 1) // 2 + (_VOICE_FRAMES - 1) // 2
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
_FIRST_STEPS = 40
"""A run's first 4 s are judged when they are complete: before that there is no floor to judge a voice by."""
_STILL_RMS = 3.0
"""Sound below this level (16-bit units) is as good as silence; it keeps coding and rounding noise from counting."""

_FRAME_INDEX = np.arange(_STEP_FRAMES)[:, np.newaxis] * _HOP + np.arange(_WINDOW)
_SMOOTH_INDEX = np.arange(_STEP_FRAMES)[:, np.newaxis] + np.arange(_SMOOTH_FRAMES)
_VOICE_INDEX = np.arange(_STEP_FRAMES)[:, np.newaxis] + np.arange(_VOICE_FRAMES)
"""Which samples or frames each of a step's ten frames looks at."""

_Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class OpenStretch:
    """A stretch that may still go on: where it begins, where the voice in it ended last, how far that was judged.

    All three are samples of the source; the last two are the first ones after.
    """

    first_sample: int
    voice_end: int
    judged_end: int


@dataclass(frozen=True, slots=True)
class SegmenterSettings:
    """When a stretch begins and ends: times in seconds, thresholds in dB of prominence above that at rest."""

    pad_before_s: float = 0.3
    pad_after_s: float = 0.3
    pause_s: float = 0.7
    """Quiet that ends a stretch; a driver pauses up to half a second between the readings of a call."""
    shortest_s: float = 0.3
    """Less voice than this is a bump or a cough and gives no stretch."""
    longest_s: float = 20.0
    """A longer stretch is cut at the quietest place of its last quarter, and goes on as the next."""
    begin_db: float = 1.6
    """Prominence that shows a voice."""
    hold_db: float = 0.25
    """A voice once found lasts, backwards and forwards in time, as long as prominence stays above this ..."""
    hold_share: float = 0.07
    hold_most_db: float = 0.6
    """... or, forwards, above this share of its peak, if that is more, but never above `hold_most_db`: a clear
    voice is not prolonged by chance in the noise after it, a weak one is not lost between its words."""
    bridge_s: float = 0.3
    """How long prominence may drop while a weak beginning is followed backwards."""
    back_s: float = 1.5
    """How far a weak beginning is followed backwards."""


class Segmenter:
    """Cuts the stretches with speech out of a stream of sound, in bounded memory.

    A stretch comes out as soon as a pause is certain, about `pause_s` + 0.4 s after its last speech where the voice is
    clear; in a run's first 4 s, when they are over. Stretches never overlap, are at most `longest_s` long, and are
    the same for any division of the sound into blocks.
    """

    def __init__(self, settings: SegmenterSettings | None = None) -> None:
        self._settings = settings or SegmenterSettings()
        self._run: _Run | None = None

    def feed(self, block: SoundBlock) -> tuple[Stretch, ...]:
        """Take the next block and return the stretches that have become complete, in order.

        A block that begins later than the last one ended means that sound was lost: what is open is closed, and the
        search starts afresh.

        Raises:
            ValueError: the block begins before the last one ended, which is a mistake of the caller.
        """
        if not len(block.samples):
            return ()
        done: tuple[Stretch, ...] = ()
        if self._run is not None and block.first_sample != self._run.end:
            if block.first_sample < self._run.end:
                raise ValueError(f"a block begins at sample {block.first_sample}, before {self._run.end}")
            done = self.close()
        if self._run is None:
            self._run = _Run(block.first_sample, self._settings)
        return done + self._run.feed(block.samples)

    @property
    def open_stretch(self) -> OpenStretch | None:
        """What is open now and has enough voice in it for a stretch; None while nobody speaks."""
        return self._run.open_stretch if self._run is not None else None

    def close(self) -> tuple[Stretch, ...]:
        """Return what is still open, since the sound ends here; a block fed later starts afresh."""
        run, self._run = self._run, None
        return run.close() if run is not None else ()


class _Run:
    """One unbroken piece of sound: keeps the samples that may still be needed, and cuts."""

    def __init__(self, first_sample: int, settings: SegmenterSettings) -> None:
        self.end = first_sample
        self._first = first_sample
        self._tape = _Tape(first_sample)
        self._meter = _Meter()
        self._cutter = _Cutter(settings)
        self._steps = 0
        self._unjudged: list[_Array] = []

    def feed(self, samples: Samples) -> tuple[Stretch, ...]:
        done: list[Stretch] = []
        for at in range(0, len(samples), _STEP):
            piece = samples[at : at + _STEP]
            self._tape.append(piece)
            self.end += len(piece)
            begin = self._first + self._steps * _STEP
            if self.end - begin >= _REACH:
                self._unjudged.append(self._meter.levels(self._tape.read(begin, begin + _REACH)))
                self._steps += 1
                if self._steps >= _FIRST_STEPS:
                    done += self._judge()
        return tuple(done)

    @property
    def open_stretch(self) -> OpenStretch | None:
        frames = self._cutter.open_frames
        if frames is None:
            return None
        begin, voice_end, judged_end = (self._first + frame * _HOP for frame in frames)
        return OpenStretch(begin, voice_end, judged_end)

    def close(self) -> tuple[Stretch, ...]:
        done = self._judge()
        last = self._cutter.close()
        return tuple(done + [self._cut(span) for span in last])

    def _judge(self) -> list[Stretch]:
        done: list[Stretch] = []
        for levels in self._unjudged:
            for prominence_db in self._meter.prominence(levels):
                done += [self._cut(span) for span in self._cutter.feed(prominence_db)]
        self._unjudged.clear()
        self._tape.forget(self._first + self._cutter.needed_from * _HOP)
        return done

    def _cut(self, span: tuple[int, int]) -> Stretch:
        begin, end = (min(self._first + frame * _HOP, self.end) for frame in span)
        return Stretch(begin, self._tape.read(begin, end).copy())


class _Tape:
    """The last samples of a run; only those after the last `forget` can be read."""

    def __init__(self, first_sample: int) -> None:
        self._buffer = np.zeros(4 * RATE_HZ, np.int16)
        self._first = first_sample
        self._count = 0

    def append(self, samples: Samples) -> None:
        if self._count + len(samples) > len(self._buffer):
            self._buffer = np.concatenate((self._buffer, np.zeros_like(self._buffer)))
        self._buffer[self._count : self._count + len(samples)] = samples
        self._count += len(samples)

    def read(self, begin: int, end: int) -> Samples:
        return self._buffer[begin - self._first : end - self._first]

    def forget(self, before: int) -> None:
        drop = before - self._first
        if drop > RATE_HZ:
            self._count -= drop
            self._buffer[: self._count] = self._buffer[drop : drop + self._count].copy()
            self._first = before


class _Meter:
    """Turns sound into prominence, a step at a time."""

    def __init__(self) -> None:
        bins = np.rint(np.array(_EDGES_HZ) * _FFT / RATE_HZ).astype(np.intp)
        self._starts, self._stop = bins[:-1], int(bins[-1])
        self._window = np.hanning(_WINDOW + 1)[:-1]
        still = _STILL_RMS**2 * float(np.sum(self._window**2))
        self._still = still * np.diff(bins)
        self._powers = np.repeat(self._still[np.newaxis], _SMOOTH_FRAMES - 1, axis=0)
        self._frames = np.zeros(_VOICE_FRAMES - 1)
        self._floors = _Recent(_FLOOR_STEPS, len(self._starts))
        self._rests = _Recent(_REST_STEPS, 1)

    def levels(self, samples: Samples) -> _Array:
        """Return the smoothed band levels of one step, shape (frames, bands), in dB; they feed the floors."""
        frames = samples[_FRAME_INDEX].astype(np.float64)
        spectra = np.fft.rfft(frames * self._window, _FFT)[:, : self._stop]
        powers = np.add.reduceat(spectra.real**2 + spectra.imag**2, self._starts, axis=1) + self._still
        self._floors.add(10 * np.log10(powers.mean(axis=0)))
        recent = np.concatenate((self._powers, powers))
        self._powers = recent[-_SMOOTH_FRAMES + 1 :]
        levels: _Array = 10 * np.log10(recent[_SMOOTH_INDEX].mean(axis=1))
        return levels

    def prominence(self, levels: _Array) -> list[float]:
        """Return prominence above that at rest, in dB, for each frame of one step."""
        excess = levels - self._floors.low_quantile(_FLOOR_QUANTILE)
        bands = excess.shape[1]
        excess.partition((bands // 2, bands - _TOP), axis=1)
        raw = excess[:, -_TOP:].mean(axis=1) - excess[:, bands // 2]
        recent = np.concatenate((self._frames, np.minimum(raw, _MOST_DB)))
        self._frames = recent[-_VOICE_FRAMES + 1 :]
        smooth = recent[_VOICE_INDEX].mean(axis=1)
        self._rests.add(smooth.mean(keepdims=True))
        rest = min(max(float(self._rests.low_quantile(_REST_QUANTILE)[0]), _REST_LOW_DB), _REST_HIGH_DB)
        above: list[float] = (smooth - rest).tolist()
        return above


class _Recent:
    """The last `size` rows of numbers, in no particular order."""

    def __init__(self, size: int, width: int) -> None:
        self._rows = np.zeros((size, width))
        self._added = 0

    def add(self, row: _Array) -> None:
        self._rows[self._added % len(self._rows)] = row
        self._added += 1

    def low_quantile(self, share: float) -> _Array:
        rows = self._rows[: self._added]
        rank = int(share * len(rows))
        lowest: _Array = np.partition(rows, rank, axis=0)[rank]
        return lowest


class _Cutter:
    """Turns prominence into spans of frames, one frame at a time."""

    def __init__(self, settings: SegmenterSettings) -> None:
        self._settings = settings
        self._pad_before = _frames(settings.pad_before_s)
        self._pad_after = _frames(settings.pad_after_s)
        self._pause = _frames(settings.pause_s)
        self._shortest = _frames(settings.shortest_s)
        self._longest = _frames(settings.longest_s)
        self._bridge = _frames(settings.bridge_s)
        self._back = _frames(settings.back_s)
        self._frame = -1 - _LAG_FRAMES
        """The frame that the newest prominence describes."""
        self._recent: deque[float] = deque(maxlen=self._longest + self._back + self._pad_before)
        self._begin: int | None = None
        self._voice_begin = 0
        self._voice_end = 0
        self._peak_db = 0.0
        self._free_from = 0
        """No stretch may begin before this frame: the end of the last one."""

    @property
    def needed_from(self) -> int:
        """The first frame whose sound may still be asked for."""
        if self._begin is not None:
            return self._begin
        return max(self._free_from, self._frame - self._back - self._pad_before)

    @property
    def open_frames(self) -> tuple[int, int, int] | None:
        """Where an open span begins, where its voice ended last and how far it is known; None without enough voice."""
        if self._begin is None or self._voice_end - self._voice_begin < self._shortest:
            return None
        return self._begin, self._voice_end, self._frame + 1

    def feed(self, prominence_db: float) -> list[tuple[int, int]]:
        """Take one frame and return the spans [begin, end) that became complete."""
        self._frame += 1
        self._recent.append(prominence_db)
        if self._begin is None:
            if prominence_db >= self._settings.begin_db:
                self._open()
            return []
        self._peak_db = max(self._peak_db, prominence_db)
        share_db = min(self._peak_db * self._settings.hold_share, self._settings.hold_most_db)
        if prominence_db >= max(share_db, self._settings.hold_db):
            self._voice_end = self._frame + 1
        if self._frame - self._voice_end >= self._pause:
            return self.close()
        if self._frame + _LAG_FRAMES - self._begin >= self._longest:
            return self._cut_long(self._begin)
        return []

    def close(self) -> list[tuple[int, int]]:
        """Return the open span, if it has enough voice in it."""
        begin, self._begin = self._begin, None
        if begin is None or self._voice_end - self._voice_begin < self._shortest:
            return []
        end = min(self._voice_end + self._pad_after, begin + self._longest)
        self._free_from = end
        return [(begin, end)]

    def _open(self) -> None:
        start = self._frame
        for ago, value in enumerate(reversed(self._recent)):
            frame = self._frame - ago
            if start - frame > self._bridge or ago > self._back:
                break
            if value >= self._settings.hold_db:
                start = frame
        self._voice_begin, self._voice_end = start, self._frame + 1
        self._peak_db = 0.0
        self._begin = max(start - self._pad_before, self._free_from)

    def _cut_long(self, begin: int) -> list[tuple[int, int]]:
        """Cut at the quietest place of the last quarter and go on from there, unless the voice ended before it."""
        count = min(self._longest // 4, self._frame - begin)
        last = list(self._recent)[-count:]
        cut = self._frame - count + 1 + min(range(len(last)), key=last.__getitem__)
        if cut >= self._voice_end:
            return self.close()
        self._begin = self._free_from = cut
        self._voice_begin = begin  # what goes on is speech already found: it needs no new proof
        return [(begin, cut)]


def _frames(seconds: float) -> int:
    return round(seconds * RATE_HZ / _HOP)
