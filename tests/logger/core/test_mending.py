"""Facts of which some are lost are made to fit together: what follows from the rest is put back, what does not is told."""

from __future__ import annotations

from dataclasses import replace

from logger.core.mending import Facts, Gap, mend
from logger.model import (
    RATE_HZ,
    Action,
    Decision,
    Drive,
    Fix,
    HeardWord,
    Hypothesis,
    Issue,
    Source,
    Utterance,
)

S = 1_000_000_000
WORDS = tuple(HeardWord(word, 0, 1) for word in ("checkpoint", "sixty", "percent"))


def clip(source: int, first: int) -> str:
    """What an utterance calls its clip."""
    return f"clips/{source:03d}-{first:010d}.flac"


def facts(count: int = 6, each: int = 3) -> Facts:
    """A live source, in which every 10 s a stretch of 2 s was heard, every second one a call with so many answers."""
    made = Facts(drive=Drive(0, ""), sources={1: Source(1, "microphone", "", 5 * S, count * 10 * RATE_HZ)})
    for number in range(1, count + 1):
        first = (number - 1) * 10 * RATE_HZ
        made.utterances[number] = Utterance(
            number, 1, first, 2 * RATE_HZ, 5 * S + first * S // RATE_HZ, clip(1, first)
        )
        made.begun[number] = 1, first
        made.recognitions[number] = number, "both"
        if number % 2:
            made.hypotheses |= {(number, rank): Hypothesis(rank, WORDS, -float(rank)) for rank in range(each)}
    return made


def clips(of: Facts) -> dict[tuple[int, int], tuple[str, int]]:
    """The clips of the calls."""
    called = {of.recognitions[number][0] for number, _ in of.hypotheses}
    return {
        (each.source_id, each.first_sample): (each.clip, each.sample_count)
        for each in of.utterances.values()
        if each.id in called
    }


def test_nothing_lost() -> None:
    """Facts that are whole come back as they are; only the end of the newest source is looked at again."""
    whole = facts()
    mended = mend(whole, clips(whole))

    assert replace(mended.facts, begun=whole.begun) == whole
    assert () == mended.unheard
    assert (Gap(1, 52 * RATE_HZ, None),) == mended.gaps
    assert not any(mended.lost.values())


def test_what_withdraws_a_lost_decision_goes_with_it() -> None:
    """It has nothing left to withdraw, and the store would not take it."""
    left = facts()
    first = Decision(1, 7, "me", Action.ACCEPT, "1-1", "charge", None, "", None, "")
    left.decisions = {
        1: first,
        3: replace(first, id=3, action=Action.WITHDRAW, withdraws=2),
        4: replace(first, id=4, action=Action.WITHDRAW, withdraws=1),
    }
    mended = mend(left, clips(left))

    assert [1, 4] == sorted(mended.facts.decisions)
    assert 1 == mended.lost["decision"]


def test_an_utterance_whose_row_is_lost() -> None:
    """The index tells where it began, its clip how long it is: it is put back as it was, with its answers."""
    whole = facts()
    left = facts()
    del left.utterances[3], left.utterances[4]
    mended = mend(left, clips(whole))

    assert whole.utterances[3] == mended.facts.utterances[3]
    assert whole.recognitions.keys() - {4} == mended.facts.recognitions.keys()
    # The fourth was no call: no clip is there to say how long it was, so its sound is heard again.
    assert 4 not in mended.facts.utterances
    assert Gap(1, 22 * RATE_HZ, 40 * RATE_HZ) in mended.gaps
    assert {"stretch": 1, "answer": 1} == {name: count for name, count in mended.lost.items() if count}


def test_an_utterance_of_which_only_the_clip_is_left() -> None:
    """It gets a new number, and its moment from the nearest one that is known, not from the source's beginning."""
    whole = facts()
    left = facts()
    for number, each in left.utterances.items():
        left.utterances[number] = replace(
            each, start_ns=each.start_ns + 50_000_000
        )  # the sound card's clock is off
    del left.utterances[3], left.begun[3], left.recognitions[3]
    for rank in range(3):
        del left.hypotheses[3, rank]
    mended = mend(left, clips(whole))

    assert (
        Utterance(7, 1, 20 * RATE_HZ, 2 * RATE_HZ, 25 * S + 50_000_000, clip(1, 20 * RATE_HZ))
        == mended.facts.utterances[7]
    )
    assert (7,) == mended.unheard
    assert 1 == mended.lost["stretch"]


def test_answers_that_are_not_whole() -> None:
    """Where the first answers of a call are lost, so may be the last of the call before: both are heard again."""
    whole = facts()
    left = facts()
    del left.hypotheses[3, 0]
    mended = mend(left, clips(whole))

    assert (1, 3) == mended.unheard
    assert {2, 4, 5, 6} == set(mended.facts.recognitions)
    assert {5} == {number for number, _ in mended.facts.hypotheses}
    assert 2 == mended.lost["answer"]


def test_answers_in_the_middle_are_lost() -> None:
    """A gap between ranks says nothing of the call before."""
    whole = facts()
    left = facts()
    del left.hypotheses[3, 1]
    assert (3,) == mend(left, clips(whole)).unheard


def test_answers_whose_sound_is_lost_too() -> None:
    """What is left of them is better than nothing, and ranked anew."""
    left = facts()
    del left.hypotheses[3, 0]
    kept = {name: each for name, each in clips(facts()).items() if name != (1, 20 * RATE_HZ)}
    mended = mend(left, kept)

    assert [-1.0, -2.0] == [mended.facts.hypotheses[3, rank].score for rank in range(2)]
    assert [0, 1] == [mended.facts.hypotheses[3, rank].rank for rank in range(2)]
    assert (1,) == mended.unheard


def test_all_answers_of_a_call_are_lost() -> None:
    """A clip is kept only of what was heard as a call, so a call without answers has lost them."""
    whole = facts()
    left = facts()
    for rank in range(3):
        del left.hypotheses[5, rank]
    assert {3, 5} == set(mend(left, clips(whole)).unheard)


def test_a_source_that_is_lost() -> None:
    """Its beginning follows from what was heard in it; one of which nothing at all is left is not made up."""
    left = facts()
    left.sources.clear()
    left.begun[9] = 4, 0
    mended = mend(left, clips(left))

    assert {1: Source(1, "sound whose name is lost", "", 5 * S, None)} == mended.facts.sources
    assert 9 not in mended.facts.utterances


def test_a_longer_stretch() -> None:
    """Which stretch another one holds follows from where they lie; a call is never there twice."""
    left = facts()
    left.utterances[7] = Utterance(7, 1, 20 * RATE_HZ - 160, 3 * RATE_HZ, 25 * S, clip(1, 20 * RATE_HZ - 160))
    left.utterances[8] = Utterance(8, 1, 50 * RATE_HZ - 160, RATE_HZ, 55 * S, clip(1, 50 * RATE_HZ - 160))
    assert {3: 7} == mend(left, clips(left)).facts.longer
    left.longer[5] = 99  # what is not there holds nothing
    left.longer[6] = 8
    assert {3: 7, 6: 8} == mend(left, clips(left)).facts.longer


def test_where_lost_stretches_were() -> None:
    """Between two sources both ends are looked at, before a first stretch its source's beginning; elsewhere nothing."""
    left = facts()
    left.sources[2] = Source(2, "microphone", "", 100 * S, 60 * RATE_HZ)
    left.utterances[8] = Utterance(8, 2, 5 * RATE_HZ, RATE_HZ, 105 * S, clip(2, 5 * RATE_HZ))  # 7 is lost
    left.utterances[9] = Utterance(9, 2, 9 * RATE_HZ, RATE_HZ, 109 * S, clip(2, 9 * RATE_HZ))
    del left.utterances[1], left.begun[1]
    no_clips = {name: each for name, each in clips(facts()).items() if name != (1, 0)}
    mended = mend(left, no_clips)

    assert {
        Gap(1, 0, 10 * RATE_HZ),
        Gap(1, 52 * RATE_HZ, None),
        Gap(2, 0, 5 * RATE_HZ),
        Gap(2, 10 * RATE_HZ, None),
    } == set(mended.gaps)


def test_what_is_lost_is_counted() -> None:
    """Numbers without a row are lost; positions whose origin is lost keep their places."""
    left = facts()
    left.fixes = {(1, 0): Fix(0, 52.0, 1.0), (1, 4): Fix(4, 52.0, 1.0), (2, 1): Fix(9, 52.0, 1.0)}
    left.tracks = {1: ("", "cd" * 32)}
    left.issues = {3: Issue("odd", "x")}
    mended = mend(left, clips(left))

    assert {"position": 4, "remark": 2} == {name: count for name, count in mended.lost.items() if count}
    assert {
        1: ("positions whose origin is lost", "cd" * 32),
        2: ("positions whose origin is lost", "recovered-2"),
    } == mended.facts.tracks


def test_numbers_that_damage_has_made() -> None:
    """A row under a second number is there once, with its answers; a number far behind all others is none."""
    whole = facts()
    left = facts()
    left.recognitions[1 << 40] = 2, "both"
    left.recognitions[0] = left.recognitions[3]
    left.utterances[1 << 40] = replace(left.utterances[5], id=1 << 40)
    left.begun[1 << 40] = 1, 0
    left.utterances[7] = replace(left.utterances[5], id=7)
    left.issues = {1: Issue("odd", "x"), 2: Issue("odd", "x")}
    left.fixes = {(1, 0): Fix(0, 52.0, 1.0), (1, 1 << 50): Fix(0, 52.0, 1.0), (1 << 50, 0): Fix(0, 52.0, 1.0)}
    mended = mend(left, clips(whole))

    assert whole.utterances == mended.facts.utterances
    assert whole.recognitions == mended.facts.recognitions
    assert {1: Issue("odd", "x")} == mended.facts.issues
    assert [(1, 0)] == list(mended.facts.fixes)
    assert mended.lost["position"] == 0
