"""Calls cut out of sound that is still coming in, early enough for a read-back, with our own sound left out. Pure.

A stretch ends for good when it has been quiet for as long as a driver may pause within a call. That is too long to wait
for a read-back, so a stretch is also cut out *early*, at each shorter quiet, and answered while nobody knows yet whether
the call goes on. If it does, a longer cut follows, which holds the early one from its beginning. To hear it takes time too, so
it is cut out *ahead* the moment it becomes quiet: by when it is long enough quiet for an answer, the answer is there.

A driver may look at the dash for longer between two readings. So what follows a call closely and is none by itself can be put
to it (`joined_to`), with all that was heard between them, our own sound too.

What we play ourselves comes back through the microphone. For finding stretches it is replaced by a bit of the quiet before
it, in which nobody is taken to speak, so that it never is, or prolongs, a call; what a recogniser hears is always the true sound. A stretch that follows
it closely comes with the sound from before it: the driver may have begun to talk over it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import Enum

import numpy as np

from logger.core.segment import Segmenter, SegmenterSettings
from logger.model import RATE_HZ, Hypothesis, Samples, SoundBlock, Status, Stretch, Utterance

EARLY_S = 0.18
"""Without a clear voice for so long, a stretch is answered. A voice is found to end some hundredths of a second late, and to begin
again early, so that a pause of up to a quarter of a second between two readings is not talked into, as a rule."""
AHEAD_S = 0.02
LONGEST_AHEAD_S = 8.0
"""A longer stretch is hardly a call, and costs the more to hear at each breath."""
LATER_S = 1.5
"""What begins so much later than a call ended, and opens no call of its own, may go on with it."""
LONGEST_JOINED_S = 15.0
KEPT_S = 45.0
"""How much of the newest sound can be had again."""
_SAME_VOICE_S = 0.05
"""By so much the end of a voice moves once the newest sound is judged for good; a voice that goes on goes on for longer."""
_NANO = 1_000_000_000
_QUIET_S = 0.4
_MOST_OWN = 32
_LIKELY_ANSWERS = 3
_MARGIN_S = 0.25
"""So much of the end of an `OwnSound` is for a slow host, and silent as a rule."""
_AFTER_OWN_S = 0.3
"""What a stretch may begin later than our own sound ends, and follow it closely: the beginning of a word is faint."""


@dataclass(frozen=True, slots=True)
class OwnSound:
    """From when to when something of ours was to be heard in the room."""

    begin_mono_ns: int
    end_mono_ns: int


class Due(Enum):
    """When a cut was made: the moment it became quiet, after a short quiet, or when the call was over for good."""

    AHEAD = "ahead"
    EARLY = "early"
    WHOLE = "whole"


@dataclass(eq=False, slots=True)
class Answered:
    """What became of one call, whose cuts all have this in common."""

    gone_on: int = 0
    """How often the voice went on after a cut."""
    heard: HeardCut | None = None
    """What was heard last before the call was over; None before."""
    early: Cut | None = None
    """The newest early cut; None before."""
    utterance: Utterance | None = None
    """The one that holds what was answered last; None before."""
    stored: int = 0
    """How many utterances were made of it."""
    answered: HeardCut | None = None
    """What was answered last; None before."""
    said: tuple[tuple[str, Decimal | None, str, str, Status], ...] = ()
    """What was read back last: quantity, value, unit, note and status of each entry."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A piece of sound in which somebody seems to speak.

    Attributes:
        first_sample, samples: where in the source it begins, and its true sound.
        start_mono_ns: when its first sample was heard.
        due: whether the call may still go on, and whether it is to be answered at once.
        voice_end: where the voice ended in it; it goes on for longer, as far as there was sound.
        own: what of it our own sound may cover, in samples after its beginning.
        call: what all cuts of one call share; the early ones of a voice that went on are out of date.
        gone_on: what `call.gone_on` was when it was cut.
        gap: of a whole cut, the sound between it and the one before, if that is not long ago.
        wider: the same from where our own sound began, if this follows it closely: for when nothing is heard in this
            alone, since the driver may have begun to talk over it.
    """

    first_sample: int
    samples: Samples
    start_mono_ns: int
    due: Due
    voice_end: int
    own: tuple[tuple[int, int], ...] = ()
    call: Answered = field(default_factory=Answered)
    gone_on: int = 0
    gap: Samples | None = None
    wider: Cut | None = None

    @property
    def end(self) -> int:
        """The first sample after it."""
        return self.first_sample + len(self.samples)

    def holds_the_voice_of(self, other: Cut) -> bool:
        """Whether both begin together and the same voice ends them."""
        apart = abs(self.voice_end - other.voice_end)
        return self.first_sample == other.first_sample and apart <= _SAME_VOICE_S * RATE_HZ

    @property
    def is_stale(self) -> bool:
        """Whether the voice has gone on since."""
        return self.due is not Due.WHOLE and self.gone_on != self.call.gone_on


@dataclass(frozen=True, slots=True)
class HeardCut:
    """What a recogniser heard in a cut.

    Attributes:
        cut: the cut, or the wider one if only that had a call in it.
        hypotheses: best first.
        recogniser: who heard it.
        for_good: whether nobody who is believed more is still to be asked.
        widened: whether it is the wider one.
    """

    cut: Cut
    hypotheses: tuple[Hypothesis, ...]
    recogniser: str
    for_good: bool = True
    widened: bool = False

    def as_in(self, cut: Cut) -> HeardCut | None:
        """Return the same as heard in another cut of the call that holds the same voice; None where it holds another one."""
        whole = cut.wider if self.widened else cut
        return None if whole is None or not whole.holds_the_voice_of(self.cut) else replace(self, cut=whole)


class LiveCutter:
    """Takes the blocks of one source, and gives out cuts as soon as they are due."""

    def __init__(self, settings: SegmenterSettings | None = None) -> None:
        self._settings = settings or SegmenterSettings()
        self._segmenter = Segmenter(self._settings)
        self._blocks: deque[tuple[SoundBlock, int]] = deque()
        self._own: tuple[OwnSound, ...] = ()
        self._quiet: Samples = np.zeros(0, np.int16)
        self._call: Answered | None = None
        self._cut_out: dict[Due, int] = {}
        """Where the voice ended when the open stretch was cut out ahead and early last."""
        self._free_from = 0
        """Where the last whole cut ended."""

    def play(self, own: OwnSound) -> None:
        """Take note that something of ours is about to be heard. Another thread than the one that feeds may call this."""
        self._own = (*self._own[-_MOST_OWN + 1 :], own)  # one assignment, so that nobody sees half of it

    def feed(self, block: SoundBlock, start_mono_ns: int) -> tuple[Cut, ...]:
        """Take the next block, whose first sample was heard at `start_mono_ns`; see `Segmenter.feed`."""
        self._blocks.append((block, start_mono_ns))
        while block.first_sample - self._blocks[0][0].first_sample > KEPT_S * RATE_HZ:
            self._blocks.popleft()
        done = self._segmenter.feed(*self._without_own(block, start_mono_ns))
        cuts = [self._whole(stretch) for stretch in done]
        unfinished = self._unfinished()
        return (*cuts, unfinished) if unfinished is not None else tuple(cuts)

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

    def _unfinished(self) -> Cut | None:
        """Cut out what is open, where it has just become quiet, or has been quiet for long enough to be answered.

        What stands out less than a clear voice counts as quiet: noise would hold the answer back, and a weak last word is in the
        cut anyway.
        """
        now = self._segmenter.open_stretch
        if now is None:
            return None
        latest = max(self._cut_out.values(), default=now.clear_end)
        if self._call is not None and now.clear_end > latest + _SAME_VOICE_S * RATE_HZ:
            self._call.gone_on += 1
            self._cut_out.clear()
        quiet = now.judged_end - now.clear_end
        if quiet >= EARLY_S * RATE_HZ:
            due = Due.EARLY
        elif quiet >= AHEAD_S * RATE_HZ and now.clear_end - now.first_sample < LONGEST_AHEAD_S * RATE_HZ:
            due = Due.AHEAD
        else:
            return None
        if due in self._cut_out:
            return None
        self._cut_out[due] = now.clear_end
        if due is Due.EARLY:
            newest = self._blocks[-1][0]
            self._take_quiet(newest.first_sample + len(newest.samples), now.clear_end)
        end = now.clear_end + round(self._settings.pad_after_s * RATE_HZ)
        return self._cut(now.first_sample, end, due, now.clear_end)

    def _whole(self, stretch: Stretch) -> Cut:
        end = stretch.first_sample + len(stretch.samples)
        voice_end = end - round(self._settings.pad_after_s * RATE_HZ)
        cut = self._cut(stretch.first_sample, end, Due.WHOLE, voice_end)
        if 0 <= cut.first_sample - self._free_from <= LATER_S * RATE_HZ:
            between = [each for _, each in self.sound(self._free_from, cut.first_sample)]
            cut = replace(cut, gap=np.concatenate([np.zeros(0, np.int16), *between]))
        self._call, self._free_from = None, cut.end
        self._cut_out.clear()
        return cut

    def _cut(self, begin: int, end: int, due: Due, voice_end: int) -> Cut:
        call = self._call = self._call or Answered()
        cut = self._piece(self._behind_own(begin), end, due, voice_end, call)
        before = self._before_own(begin)
        return cut if before is None else replace(cut, wider=self._piece(before, end, due, voice_end, call))

    def _piece(self, begin: int, end: int, due: Due, voice_end: int, call: Answered) -> Cut:
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
        return Cut(begin, samples, start_mono_ns, due, voice_end, own, call, call.gone_on)

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

    def _without_own(
        self, block: SoundBlock, start_mono_ns: int
    ) -> tuple[SoundBlock, tuple[tuple[int, int], ...]]:
        """Return a block with quiet in the place of what is ours, and where that is."""
        samples, spans = block.samples, []
        for own in self._own:
            begin = max(0, _samples(own.begin_mono_ns - start_mono_ns))
            end = min(len(samples), _samples(own.end_mono_ns - start_mono_ns))
            if begin < end:
                if not len(self._quiet):
                    self._take_quiet(block.first_sample + begin)
                samples = samples.copy()
                at = (block.first_sample + np.arange(begin, end)) % len(self._quiet)
                samples[begin:end] = self._quiet[at]
                spans.append((block.first_sample + begin, block.first_sample + end))
        return SoundBlock(block.first_sample, samples), tuple(spans)

    def _take_quiet(self, end: int, after: int = 0) -> None:
        """Keep a bit of sound before a sample in which nobody speaks: its level and its colour are those of the cabin now."""
        pieces = self.sound(max(after, end - round(_QUIET_S * RATE_HZ)), end)
        self._quiet = np.concatenate([each for _, each in pieces]) if pieces else np.zeros(1, np.int16)


def joined_to(before: HeardCut | None, cut: Cut) -> Cut | None:
    """Return a whole cut with the call that it may go on with, as one; None where it follows none closely."""
    if before is None or cut.gap is None or before.cut.end + len(cut.gap) != cut.first_sample:
        return None
    samples = np.concatenate((before.cut.samples, cut.gap, cut.samples))
    if len(samples) > LONGEST_JOINED_S * RATE_HZ:
        return None
    return replace(before.cut, samples=samples, due=Due.WHOLE, voice_end=cut.voice_end, gap=None, wider=None)


def goes_on_with(before: Sequence[Hypothesis], joined: Sequence[Hypothesis]) -> bool:
    """Whether what was heard in both as one is the call before with something more: talk after a call is none of it."""
    return bool(joined) and any(
        joined[0].text.startswith(f"{each.text} ") for each in before[:_LIKELY_ANSWERS]
    )


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
