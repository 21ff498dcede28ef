"""Finding the stretches of sound in which somebody speaks, in the noise of a car.

What tells a voice is its *prominence* (`prominence.py`); `tests/benchmarks/segmenting.py` measures it.

Everything is computed in steps of a tenth of a second counted from the first sample, whatever the size of the
blocks fed, so the stretches do not depend on it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logger.core.prominence import HOP, LAG_FRAMES, REACH, STEP, WINDOW, Blank, Levels, Meter
from logger.model import RATE_HZ, Samples, SoundBlock, Stretch

_FIRST_STEPS = 40
"""A run's first 4 s are judged when they are complete: before that there is no floor to judge a voice by."""


@dataclass(frozen=True, slots=True)
class OpenStretch:
    """A stretch that may still go on: where it begins, where the voice in it ended last, how far that was judged.

    All are samples of the source, but for the beginning the first ones after. In noise a voice seems to end later than it does, so
    `clear_end` is where it was loud enough last to be found. What the newest frames say is not yet final:
    once their step is complete, the voice may turn out to have ended some hundredths of a second sooner or later.
    """

    first_sample: int
    voice_end: int
    clear_end: int
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
    clear_db: float = 1.0
    """Prominence by which somebody is certain to speak, whatever the noise does."""
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

    def feed(self, block: SoundBlock, blank: tuple[tuple[int, int], ...] = ()) -> tuple[Stretch, ...]:
        """Take the next block and return the stretches that have become complete, in order.

        In the `blank` spans of the block's samples nobody is found to speak, whatever is heard there.

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
        return done + self._run.feed(block.samples, blank)

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
        self._meter = Meter()
        self._cutter = _Cutter(settings)
        self._steps = 0
        self._unjudged: list[tuple[Levels, Blank | None]] = []
        self._blank: deque[tuple[int, int]] = deque()

    def feed(self, samples: Samples, blank: tuple[tuple[int, int], ...]) -> tuple[Stretch, ...]:
        self._blank.extend(blank)
        done: list[Stretch] = []
        for at in range(0, len(samples), STEP):
            piece = samples[at : at + STEP]
            self._tape.append(piece)
            self.end += len(piece)
            begin = self._first + self._steps * STEP
            if self.end - begin >= REACH:
                levels = self._meter.levels(self._tape.read(begin, begin + REACH))
                self._unjudged.append((levels, self._blank_frames(begin, len(levels))))
                self._steps += 1
                if self._steps >= _FIRST_STEPS:
                    done += self._judge()
        return tuple(done)

    @property
    def open_stretch(self) -> OpenStretch | None:
        if not self._cutter.is_open:
            return None
        frames = self._cutter.open_frames(self._prominence_ahead())
        if frames is None:
            return None
        return OpenStretch(*(self._first + frame * HOP for frame in frames))

    def _prominence_ahead(self) -> list[float]:
        """Return about how far what has come of the step that is not complete yet stands out."""
        begin = self._first + self._steps * STEP
        count = (self.end - begin - WINDOW) // HOP + 1
        if count < 1:
            return []
        sound = self._tape.read(begin, begin + (count - 1) * HOP + WINDOW)
        return self._meter.prominence_ahead(sound, self._blank_frames(begin, count))

    def _blank_frames(self, begin: int, count: int) -> Blank | None:
        """Return which frames from a sample on look at anything blank; None where none does."""
        while self._blank and self._blank[0][1] <= begin:
            self._blank.popleft()
        if not self._blank:
            return None
        starts = begin + HOP * np.arange(count)
        found = np.zeros(count, np.bool_)
        for first, end in self._blank:
            found |= (starts < end) & (first < starts + WINDOW)
        return found

    def close(self) -> tuple[Stretch, ...]:
        done = self._judge()
        last = self._cutter.close()
        return tuple(done + [self._cut(span) for span in last])

    def _judge(self) -> list[Stretch]:
        done: list[Stretch] = []
        for levels, blank in self._unjudged:
            for prominence_db in self._meter.prominence(levels, blank):
                done += [self._cut(span) for span in self._cutter.feed(prominence_db)]
        self._unjudged.clear()
        self._tape.forget(self._first + self._cutter.needed_from * HOP)
        return done

    def _cut(self, span: tuple[int, int]) -> Stretch:
        begin, end = (min(self._first + frame * HOP, self.end) for frame in span)
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
        self._frame = -1 - LAG_FRAMES
        """The frame that the newest prominence describes."""
        self._recent: deque[float] = deque(maxlen=self._longest + self._back + self._pad_before)
        self._begin: int | None = None
        self._voice_begin = 0
        self._voice_end = self._clear_end = 0
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
    def is_open(self) -> bool:
        """Whether a span has begun."""
        return self._begin is not None

    def open_frames(self, ahead: Sequence[float]) -> tuple[int, int, int, int] | None:
        """Return what `OpenStretch` tells of an open span, in frames; None without enough voice.

        Args:
            ahead: prominence of the frames that come next, about.
        """
        voice_end, clear_end, peak_db = self._voice_end, self._clear_end, self._peak_db
        for after, prominence_db in enumerate(ahead, 1):
            peak_db = max(peak_db, prominence_db)
            if self._holds(prominence_db, peak_db):
                voice_end = self._frame + after + 1
            if prominence_db >= self._settings.clear_db:
                clear_end = self._frame + after + 1
        if self._begin is None or voice_end - self._voice_begin < self._shortest:
            return None
        return self._begin, voice_end, clear_end, self._frame + len(ahead) + 1

    def feed(self, prominence_db: float) -> list[tuple[int, int]]:
        """Take one frame and return the spans [begin, end) that became complete."""
        self._frame += 1
        self._recent.append(prominence_db)
        if self._begin is None:
            if prominence_db >= self._settings.begin_db:
                self._open()
            return []
        self._peak_db = max(self._peak_db, prominence_db)
        if self._holds(prominence_db, self._peak_db):
            self._voice_end = self._frame + 1
        if prominence_db >= self._settings.clear_db:
            self._clear_end = self._frame + 1
        if self._frame - self._voice_end >= self._pause:
            return self.close()
        if self._frame + LAG_FRAMES - self._begin >= self._longest:
            return self._cut_long(self._begin)
        return []

    def _holds(self, prominence_db: float, peak_db: float) -> bool:
        share_db = min(peak_db * self._settings.hold_share, self._settings.hold_most_db)
        return prominence_db >= max(share_db, self._settings.hold_db)

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
        self._clear_end = self._frame + 1
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
    return round(seconds * RATE_HZ / HOP)
