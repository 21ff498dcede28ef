"""Calls cut out of sound that is still coming in, early enough for a read-back, with our own sound left out. Pure.

A stretch ends for good when it has been quiet for as long as a driver may pause within a call. That is too long to wait
for a read-back, so a stretch is also cut out *early*, at each shorter quiet: it is heard while nobody knows yet whether the
call goes on. If it does, a longer cut follows, which holds the early one from its beginning.

What we play ourselves comes back through the microphone. For finding stretches it is replaced by a bit of the quiet before
it, so that it never is, or prolongs, a call; what a recogniser hears is always the true sound. A stretch that follows
it closely comes with the sound from before it: the driver may have begun to talk over it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from logger.core.segment import Segmenter, SegmenterSettings
from logger.model import RATE_HZ, Hypothesis, Samples, SoundBlock, Stretch

EARLY_S = 0.15
"""Quiet after which a stretch is cut out early, the least after which all that belongs to it is there; where it goes on, a
longer cut follows."""
KEPT_S = 45.0
"""How much of the newest sound can be had again."""
_NANO = 1_000_000_000
_QUIET_S = 0.4
_MOST_OWN = 32
_MARGIN_S = 0.25
"""So much of the end of an `OwnSound` is for a slow host, and silent as a rule."""
_AFTER_OWN_S = 0.3
"""What a stretch may begin later than our own sound ends, and follow it closely: the beginning of a word is faint."""


@dataclass(frozen=True, slots=True)
class OwnSound:
    """From when to when something of ours was to be heard in the room."""

    begin_mono_ns: int
    end_mono_ns: int


@dataclass(eq=False, slots=True)
class Answered:
    """What became of one call, whose cuts all have this in common."""

    gone_on: int = 0
    """How often the voice went on after a cut."""
    heard: tuple[Cut, tuple[Hypothesis, ...]] | None = None
    """The newest cut that a recogniser heard, and what it heard in it; None before."""
    utterance_id: int | None = None
    """The utterance that holds what was answered last; None before."""
    stored: int = 0
    """How many utterances were made of it."""
    answered_end: int = 0
    """Where the cut ended that was answered last."""
    said: tuple[object, ...] = ()
    """What was read back last."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A piece of sound in which somebody seems to speak.

    Attributes:
        first_sample, samples: where in the source it begins, and its true sound.
        start_mono_ns: when its first sample was heard.
        early: whether the call may still go on.
        own: what of it our own sound may cover, in samples after its beginning.
        call: what all cuts of one call share; the early ones of a voice that went on are out of date.
        gone_on: what `call.gone_on` was when it was cut.
        wider: the same from where our own sound began, if this follows it closely: for when nothing is heard in this
            alone, since the driver may have begun to talk over it.
    """

    first_sample: int
    samples: Samples
    start_mono_ns: int
    early: bool
    own: tuple[tuple[int, int], ...] = ()
    call: Answered = field(default_factory=Answered)
    gone_on: int = 0
    wider: Cut | None = None

    @property
    def end(self) -> int:
        """The first sample after it."""
        return self.first_sample + len(self.samples)

    @property
    def is_stale(self) -> bool:
        """Whether the voice has gone on since."""
        return self.gone_on != self.call.gone_on


class LiveCutter:
    """Takes the blocks of one source, and gives out cuts as soon as they are due."""

    def __init__(self, settings: SegmenterSettings | None = None) -> None:
        self._settings = settings or SegmenterSettings()
        self._segmenter = Segmenter(self._settings)
        self._blocks: deque[tuple[SoundBlock, int]] = deque()
        self._own: tuple[OwnSound, ...] = ()
        self._quiet: Samples = np.zeros(0, np.int16)
        self._call: Answered | None = None
        self._early_end = 0
        """Where the voice ended when the open stretch was cut out early last; 0 when it was not yet."""
        self._free_from = 0

    def play(self, own: OwnSound) -> None:
        """Take note that something of ours is about to be heard. Another thread than the one that feeds may call this."""
        self._own = (*self._own[-_MOST_OWN + 1 :], own)  # one assignment, so that nobody sees half of it

    def feed(self, block: SoundBlock, start_mono_ns: int) -> tuple[Cut, ...]:
        """Take the next block, whose first sample was heard at `start_mono_ns`; see `Segmenter.feed`."""
        self._blocks.append((block, start_mono_ns))
        while block.first_sample - self._blocks[0][0].first_sample > KEPT_S * RATE_HZ:
            self._blocks.popleft()
        done = self._segmenter.feed(SoundBlock(block.first_sample, self._without_own(block, start_mono_ns)))
        cuts = [self._whole(stretch) for stretch in done]
        early = self._early()
        return (*cuts, early) if early is not None else tuple(cuts)

    def close(self) -> tuple[Cut, ...]:
        """Return what is still open, since the sound ends here."""
        return tuple(self._whole(stretch) for stretch in self._segmenter.close())

    def sound(self, begin: int, end: int) -> tuple[tuple[int, Samples], ...]:
        """Return what is kept of the sound between two samples, piece by piece, each with its first sample."""
        pieces = []
        for block, _ in self._blocks:
            first = max(begin, block.first_sample)
            last = min(end, block.first_sample + len(block.samples))
            if first < last:
                at = block.first_sample
                pieces.append((first, block.samples[first - at : last - at]))
        return tuple(pieces)

    def _early(self) -> Cut | None:
        """Cut out what is open, where it has just become quiet."""
        now = self._segmenter.open_stretch
        if now is None:
            return None
        if self._call is not None and self._early_end and now.voice_end > self._early_end:
            self._call.gone_on += 1
            self._early_end = 0
        if self._early_end or now.judged_end - now.voice_end < EARLY_S * RATE_HZ:
            return None
        self._early_end = now.voice_end
        newest = self._blocks[-1][0]
        self._take_quiet(newest.first_sample + len(newest.samples), now.voice_end)
        end = now.voice_end + round(self._settings.pad_after_s * RATE_HZ)
        return self._cut(now.first_sample, end, early=True)

    def _whole(self, stretch: Stretch) -> Cut:
        cut = self._cut(stretch.first_sample, stretch.first_sample + len(stretch.samples), early=False)
        self._call, self._early_end, self._free_from = None, 0, cut.end
        return cut

    def _cut(self, begin: int, end: int, *, early: bool) -> Cut:
        if self._call is None:
            self._call = Answered()
        cut = self._piece(self._behind_own(begin), end, self._call, early=early)
        before = self._before_own(begin)
        return (
            cut if before is None else replace(cut, wider=self._piece(before, end, self._call, early=early))
        )

    def _piece(self, begin: int, end: int, call: Answered, *, early: bool) -> Cut:
        pieces = self.sound(begin, end)
        samples = np.concatenate([each for _, each in pieces]) if pieces else np.zeros(0, np.int16)
        if pieces:
            begin = pieces[0][0]
        start_mono_ns = self._moment(begin)
        own = tuple(
            (at, until)
            for each in self._own
            if (at := _samples(each.begin_mono_ns - start_mono_ns)) < len(samples)
            and (until := _samples(each.end_mono_ns - start_mono_ns)) > 0
        )
        return Cut(begin, samples, start_mono_ns, early, own, call, call.gone_on)

    def _behind_own(self, begin: int) -> int:
        """Return where a stretch begins, but not where our own sound is still heard, as a rule: it hides a call's first word."""
        moment = self._moment(begin)
        for own in self._own:
            over_ns = own.end_mono_ns - round(_MARGIN_S * _NANO)
            if own.begin_mono_ns < moment < over_ns:
                return begin + _samples(over_ns - moment)
        return begin

    def _before_own(self, begin: int) -> int | None:
        """Return where our own sound begins that a stretch follows closely; None where it follows none."""
        moment = self._moment(begin)
        for own in self._own:
            if own.begin_mono_ns < moment < own.end_mono_ns + _AFTER_OWN_S * _NANO:
                return max(self._free_from, begin + _samples(own.begin_mono_ns - moment))
        return None

    def _moment(self, sample: int) -> int:
        """Return when a sample was heard, by the block that holds it or the first one that is kept."""
        best = self._blocks[0]
        for each in self._blocks:
            if each[0].first_sample > sample:
                break
            best = each
        block, start_mono_ns = best
        return start_mono_ns + (sample - block.first_sample) * _NANO // RATE_HZ

    def _without_own(self, block: SoundBlock, start_mono_ns: int) -> Samples:
        samples = block.samples
        for own in self._own:
            begin = max(0, _samples(own.begin_mono_ns - start_mono_ns))
            end = min(len(samples), _samples(own.end_mono_ns - start_mono_ns))
            if begin < end:
                if not len(self._quiet):
                    self._take_quiet(block.first_sample + begin)
                samples = samples.copy()
                at = (block.first_sample + np.arange(begin, end)) % len(self._quiet)
                samples[begin:end] = self._quiet[at]
        return samples

    def _take_quiet(self, end: int, after: int = 0) -> None:
        """Keep a bit of sound before a sample in which nobody speaks: its level and its colour are those of the cabin now."""
        pieces = self.sound(max(after, end - round(_QUIET_S * RATE_HZ)), end)
        self._quiet = np.concatenate([each for _, each in pieces]) if pieces else np.zeros(1, np.int16)


def is_own(hypotheses: Sequence[Hypothesis], cut: Cut) -> bool:
    """Whether the first answer lies wholly within our own sound; words that nobody timed are the driver's."""
    if not cut.own or not hypotheses or not hypotheses[0].words:
        return False
    first, last = hypotheses[0].words[0].start_ns, hypotheses[0].words[-1].end_ns
    if first is None or last is None:
        return False
    return any(begin <= _samples(first) and _samples(last) <= end for begin, end in cut.own)


def _samples(nanoseconds: int) -> int:
    return nanoseconds * RATE_HZ // _NANO
