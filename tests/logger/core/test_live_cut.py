"""Cuts of sound that is still coming in: early, whole, and without what we play ourselves."""

from __future__ import annotations

import numpy as np
import pytest
from live_drive import spoken
from voice_sounds import road, voice, with_voice

from logger.core.live_cut import (
    LONGEST_AHEAD_S,
    Answered,
    Cut,
    Due,
    HeardCut,
    LiveCutter,
    OwnSound,
    goes_on_with,
    is_own,
    joined_to,
)
from logger.core.segment import Segmenter
from logger.core.tones import tone_of
from logger.core.verdicts import Verdict
from logger.model import RATE_HZ, HeardWord, Hypothesis, Samples, SoundBlock

BLOCK = RATE_HZ // 20
S = 1_000_000_000
MONO = 77 * S
"""When sample 0 was heard."""


def cuts_of(sound: Samples, own: tuple[OwnSound, ...] = ()) -> list[tuple[float, Cut]]:
    """Feed a sound in blocks of 50 ms; return each cut with the second at which it came out."""
    cutter = LiveCutter()
    found = []
    for at in range(0, len(sound), BLOCK):
        for each in own:
            if at == each.begin_mono_ns // BLOCK * BLOCK:
                cutter.play(
                    OwnSound(MONO + each.begin_mono_ns * S // RATE_HZ, MONO + each.end_mono_ns * S // RATE_HZ)
                )
        block = SoundBlock(at, sound[at : at + BLOCK])
        found += [((at + BLOCK) / RATE_HZ, cut) for cut in cutter.feed(block, MONO + at * S // RATE_HZ)]
    return found + [(len(sound) / RATE_HZ, cut) for cut in cutter.close()]


def test_early_cuts_come_early_and_whole_ones_are_the_segmenters() -> None:
    """One voice: an early cut within half a second of its end; the whole one is sample for sample what a recording gives."""
    sound = with_voice(road(16), (6.0, 8.0))
    found = cuts_of(sound)
    segmenter = Segmenter()
    stretches = [*segmenter.feed(SoundBlock(0, sound)), *segmenter.close()]

    (ahead_s, ahead), (early_s, early), (whole_s, whole) = found[-3:]
    assert (Due.AHEAD, Due.EARLY, Due.WHOLE) == (ahead.due, early.due, whole.due)
    assert 8.0 < ahead_s < early_s - 0.09
    assert early_s <= 8.45
    assert whole_s > early_s + 0.3
    assert [(each.first_sample, each.samples.tolist()) for each in stretches] == [
        (cut.first_sample, cut.samples.tolist()) for _, cut in found if cut.due is Due.WHOLE
    ]
    assert ahead.call is early.call is whole.call
    assert whole.holds_the_voice_of(early)
    assert whole.end - 0.05 * RATE_HZ <= early.end <= whole.end
    assert early.samples.tolist()[: len(ahead.samples)] == ahead.samples.tolist()
    assert ahead.voice_end == early.voice_end <= whole.voice_end
    assert not early.is_stale
    assert MONO + early.first_sample * S // RATE_HZ == early.start_mono_ns


def test_a_voice_that_goes_on_makes_the_early_cut_stale() -> None:
    """A pause of half a second within a call: the first early cut is out of date, and the whole one holds both parts."""
    found = cuts_of(with_voice(road(16), (6.0, 7.5), (8.05, 9.5)))
    early = [cut for _, cut in found if cut.due is Due.EARLY]
    (whole,) = [cut for _, cut in found if cut.due is Due.WHOLE]

    assert early[0].is_stale
    assert not early[-1].is_stale
    assert len({id(cut.call) for _, cut in found}) == 1
    assert early[0].first_sample == whole.first_sample
    assert early[0].end < 8.1 * RATE_HZ < whole.end == early[-1].end


def test_a_long_stretch_is_not_heard_ahead() -> None:
    """A driver who tells a story takes breath often: each breath would have all of it heard again."""
    found = cuts_of(with_voice(road(24), (6.0, 10.0), (10.4, 17.0)))
    ahead_s = [at_s for at_s, cut in found if cut.due is Due.AHEAD]

    assert ahead_s
    assert max(ahead_s) < 5.7 + LONGEST_AHEAD_S + 0.3
    assert [at_s for at_s, cut in found if cut.due is Due.EARLY][-1] > 17.0


def test_what_was_heard_ahead_holds_for_the_same_voice_only() -> None:
    """It is the answer to the early cut; to one after the voice went on it is none."""
    found = [cut for _, cut in cuts_of(with_voice(road(16), (6.0, 7.5), (8.05, 9.5)))]
    ahead = [cut for cut in found if cut.due is Due.AHEAD]
    early = [cut for cut in found if cut.due is Due.EARLY]
    answer = words((1.0, 1.5))
    heard = HeardCut(ahead[0], answer, "quick")

    assert HeardCut(early[0], answer, "quick") == heard.as_in(early[0])
    assert None is heard.as_in(early[-1])
    assert HeardCut(early[-1], answer, "quick") == HeardCut(ahead[-1], answer, "quick").as_in(early[-1])
    # Heard in the wider one only, it holds for a cut that has a wider one too.
    assert None is HeardCut(ahead[0], answer, "quick", widened=True).as_in(early[0])


def test_noise_after_a_call_holds_no_answer_back() -> None:
    """What stands out a little after the last word may be more of it for the record; it makes no answer stale."""
    sound = with_voice(road(16), (6.0, 8.0))
    faint = with_voice(np.zeros(16 * RATE_HZ), (8.3, 8.9), rms=18.0)
    found = cuts_of(sound + faint)
    (early,) = [cut for _, cut in found if cut.due is Due.EARLY]
    (whole,) = [cut for _, cut in found if cut.due is Due.WHOLE]

    assert whole.voice_end > 8.4 * RATE_HZ > early.voice_end
    assert not early.is_stale
    assert not whole.holds_the_voice_of(early)


@pytest.mark.parametrize("verdict", Verdict)
def test_our_own_sound_is_no_call(verdict: Verdict) -> None:
    """The read-back, loud in the microphone half a second after a call: it gives no cut and prolongs none."""
    sound = with_voice(road(20), (6.0, 8.0))
    alone = [(cut.due, cut.first_sample, cut.end) for _, cut in cuts_of(sound)]
    tone = tone_of(verdict)
    at = round(8.55 * RATE_HZ)
    heard = sound.copy()
    heard[at + 1600 : at + 1600 + len(tone)] += tone

    told = cuts_of(heard, (OwnSound(at, at + len(tone) + 7200),))

    assert alone == [(cut.due, cut.first_sample, cut.end) for _, cut in told]
    if (
        verdict is Verdict.NOT_UNDERSTOOD
    ):  # the longest: untold, it is taken for a voice, so the test can fail
        assert alone != [(cut.due, cut.first_sample, cut.end) for _, cut in cuts_of(heard)]


@pytest.mark.parametrize("later_ms", [7, 21, 28, 98])
@pytest.mark.parametrize("after_s", [0.03, 0.1])
def test_our_own_voice_prolongs_no_call(later_ms: int, after_s: float) -> None:
    """Words spoken back soon after an early cut, with a moment's lag, in faint noise: the call ends where it ended."""
    sound = spoken([(8.0 + later_ms / 1000, "note headwind")], 12.0)
    alone = cuts_of(sound)
    (at_s,) = [at_s for at_s, cut in alone if cut.due is Due.EARLY]
    at, length = round((at_s + after_s) * RATE_HZ), round(0.8 * RATE_HZ)
    heard = sound.copy()
    heard[at + 1600 : at + 1600 + length] += voice(0.8, 2000.0).astype(np.int16)

    told = cuts_of(heard, (OwnSound(at, at + length + 7200),))

    assert [(cut.due, cut.voice_end) for _, cut in told] == [(cut.due, cut.voice_end) for _, cut in alone]


def test_the_driver_talking_over_it_is_kept() -> None:
    """A call that begins during a read-back of 1.5 s and goes on after it: the wider cut begins where our own sound does."""
    begin, end = 10 * RATE_HZ, round(11.5 * RATE_HZ)
    sound = with_voice(road(20), (10.8, 13.5))
    (whole,) = [cut for _, cut in cuts_of(sound, (OwnSound(begin, end),)) if cut.due is Due.WHOLE]

    assert whole.wider is not None
    assert begin == whole.wider.first_sample < whole.first_sample
    assert whole.first_sample >= end - 0.25 * RATE_HZ  # without what is ours, as far as that is known
    assert 13.4 * RATE_HZ < whole.end == whole.wider.end
    assert ((0, end - begin),) == whole.wider.own
    assert (
        sound[begin : whole.end].tolist() == whole.wider.samples.tolist()
    )  # the true sound, nothing blanked
    assert whole.call is whole.wider.call


def test_a_call_long_after_our_own_sound_has_nothing_to_do_with_it() -> None:
    """One that begins two seconds later."""
    sound = with_voice(road(20), (13.5, 15.5))
    (whole,) = [
        cut
        for _, cut in cuts_of(sound, (OwnSound(10 * RATE_HZ, round(11.5 * RATE_HZ)),))
        if cut.due is Due.WHOLE
    ]

    assert (None, ()) == (whole.wider, whole.own)


def said(*lines: str) -> tuple[Hypothesis, ...]:
    """Answers, best first."""
    return tuple(
        Hypothesis(rank, tuple(HeardWord(word) for word in line.split())) for rank, line in enumerate(lines)
    )


def test_what_follows_a_call_closely_can_be_put_to_it() -> None:
    """Both with all that was heard between them, sample for sample, as one cut of the first one's call."""
    sound = with_voice(road(20), (6.0, 7.5), (8.7, 10.5))
    first, second = [cut for _, cut in cuts_of(sound) if cut.due is Due.WHOLE]
    before = HeardCut(first, said("checkpoint sixty percent"), "both")
    joined = joined_to(before, second)

    assert joined is not None
    assert sound[first.first_sample : second.end].tolist() == joined.samples.tolist()
    assert (first.start_mono_ns, second.voice_end, Due.WHOLE) == (
        joined.start_mono_ns,
        joined.voice_end,
        joined.due,
    )
    assert first.call is joined.call is not second.call
    # A third one goes on with what the two have become.
    assert None is joined_to(HeardCut(second, (), "both"), first)
    assert None is joined_to(None, second)


@pytest.mark.parametrize(("begin_s", "end_s"), [(10.5, 12.0), (8.7, 23.0)])
def test_what_comes_later_or_is_long_is_not(begin_s: float, end_s: float) -> None:
    """Three seconds later; or so long that both together are more than any call."""
    sound = with_voice(road(28), (6.0, 7.5), (begin_s, end_s))
    first, second = [cut for _, cut in cuts_of(sound) if cut.due is Due.WHOLE][:2]

    assert None is joined_to(HeardCut(first, said("checkpoint sixty percent"), "both"), second)


def test_only_what_goes_on_with_a_call_is_put_to_it() -> None:
    """What was heard in both begins with what was heard in the first, and has more."""
    before = said("checkpoint sixty percent", "checkpoint sixteen percent")

    assert goes_on_with(before, said("checkpoint sixty percent ninety miles"))
    assert goes_on_with(before, said("checkpoint sixteen percent ninety miles", "checkpoint sixty percent"))
    assert not goes_on_with(before, said("checkpoint sixty percent"))
    assert not goes_on_with(before, said("checkpoint sixty percents"))
    assert not goes_on_with(before, said("checkpoint fifty percent ninety miles"))
    assert not goes_on_with(before, ())


def words(*times_s: tuple[float | None, float | None]) -> tuple[Hypothesis, ...]:
    """An answer whose words lie there."""
    spans = [tuple(None if each is None else round(each * S) for each in pair) for pair in times_s]
    return (Hypothesis(0, tuple(HeardWord("word", begin, end) for begin, end in spans)),)


def test_whose_words() -> None:
    """Words wholly within our own sound are ours; any that reach out of it, or were not timed, are the driver's."""
    cut = Cut(
        0, np.zeros(5 * RATE_HZ, np.int16), 0, Due.WHOLE, 0, own=((RATE_HZ, 3 * RATE_HZ),), call=Answered()
    )

    assert is_own(words((1.1, 1.5), (1.6, 2.9)), cut)
    assert not is_own(words((1.1, 1.5), (2.6, 3.4)), cut)
    assert not is_own(words((0.5, 1.5), (1.6, 2.9)), cut)
    assert not is_own(words((None, None)), cut)
    assert not is_own((), cut)
    assert not is_own(words((1.1, 1.5)), Cut(0, cut.samples, 0, Due.WHOLE, 0))


def test_the_newest_sound_can_be_had_again() -> None:
    """By samples, piece by piece; what lies far back is gone, and memory stays bounded."""
    sound = road(100).astype(np.int16)
    cutter = LiveCutter()
    for at in range(0, len(sound), BLOCK):
        cutter.feed(SoundBlock(at, sound[at : at + BLOCK]), at * S // RATE_HZ)
    begin, end = 90 * RATE_HZ + 17, 95 * RATE_HZ + 5
    pieces = cutter.sound(begin, end)

    assert begin == pieces[0][0]
    assert sound[begin:end].tolist() == np.concatenate([each for _, each in pieces]).tolist()
    assert () == cutter.sound(0, 50 * RATE_HZ)


def test_lost_sound_closes_what_is_open() -> None:
    """A gap in the middle of a voice: what came before it is a cut of its own, and the moments after it are right."""
    sound = with_voice(road(16), (6.0, 9.0))
    cutter = LiveCutter()
    found = []
    for at in range(0, len(sound), BLOCK):
        gap = RATE_HZ if at >= 7.5 * RATE_HZ else 0
        block = SoundBlock(at + gap, sound[at : at + BLOCK])
        found += cutter.feed(block, MONO + (at + gap) * S // RATE_HZ)
    found += cutter.close()
    whole = [cut for cut in found if cut.due is Due.WHOLE]

    assert 2 == len(whole)
    assert whole[0].end <= 7.5 * RATE_HZ
    assert whole[1].first_sample >= 8.5 * RATE_HZ
    assert MONO + whole[1].first_sample * S // RATE_HZ == whole[1].start_mono_ns
