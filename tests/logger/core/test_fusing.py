"""Lists of answers joined into one."""

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from logger.core.fusing import MOST_ANSWERS, Ear, fused, heard_the_same
from logger.model import HeardWord, Hypothesis


def answers(**scores: float | None) -> tuple[Hypothesis, ...]:
    """Return answers of one word each, best first as given."""
    return tuple(
        Hypothesis(rank, (HeardWord(text, rank * 10, rank * 10 + 5),), score)
        for rank, (text, score) in enumerate(scores.items())
    )


def texts(*ears: Ear) -> list[str]:
    """Return the texts of the joined list."""
    return [answer.text for answer in fused(ears)]


def test_what_both_hear_wins() -> None:
    """An answer that is second on both lists beats two firsts that the other lacks. Sums by hand.

    fifty: 0 + (-2 - 1) = -3; fifteen: the same; sixty: -1 + -1 = -2.
    """
    first = Ear(answers(fifty=10.0, sixty=9.0, nine=8.0), 1.0, 1.0)
    second = Ear(answers(fifteen=-4.0, sixty=-5.0, five=-6.0), 1.0, 1.0)

    joined = fused((first, second))

    assert "sixty" == joined[0].text
    assert [-2.0, -3.0, -3.0] == [answer.score for answer in joined[:3]]


def test_a_heavier_ear_decides() -> None:
    """Where they disagree, the one that weighs more is right."""
    one, other = answers(fifty=0.0, fifteen=-3.0), answers(fifteen=0.0, fifty=-3.0)

    assert "fifty" == texts(Ear(one, 1.0, 1.0), Ear(other, 0.5, 1.0))[0]
    assert "fifteen" == texts(Ear(one, 1.0, 1.0), Ear(other, 2.0, 1.0))[0]


def test_an_ear_that_heard_nothing_has_no_say() -> None:
    """The other's list comes back in its order, scores counted from its best."""
    only = answers(fifty=7.0, fifteen=5.0)

    joined = fused((Ear((), 3.0, 1.0), Ear(only, 1.0, 1.0)))

    assert [("fifty", 0.0), ("fifteen", -2.0)] == [(answer.text, answer.score) for answer in joined]
    assert () == fused((Ear((), 1.0, 1.0),))


def test_words_come_from_the_first_that_has_them() -> None:
    """Times are those of the ear named first."""
    first, second = answers(fifteen=0.0, fifty=-1.0), answers(fifty=0.0, nine=-1.0)

    joined = {
        answer.text: answer.words[0].start_ns for answer in fused((Ear(first, 1, 1), Ear(second, 1, 1)))
    }

    assert {"fifty": 10, "fifteen": 0, "nine": 10} == joined


def test_without_scores_ranks_stand_in() -> None:
    """A list without scores counts one for each rank."""
    joined = fused((Ear(answers(fifty=None, fifteen=None), 1.0, 1.0),))

    assert [0.0, -1.0] == [answer.score for answer in joined]


@given(
    st.lists(
        st.dictionaries(st.sampled_from("abcdefgh"), st.floats(-50, 50), min_size=1, max_size=6),
        min_size=1,
        max_size=4,
    )
)
def test_the_joined_list_is_an_answer_list(lists: list[dict[str, float]]) -> None:
    """Each text once, ranks from 0, scores that never rise and are finite, none invented, no more than the most."""
    ears = [Ear(answers(**dict(sorted(each.items(), key=lambda item: -item[1]))), 0.7, 2.0) for each in lists]

    joined = fused(ears)

    assert list(range(len(joined))) == [answer.rank for answer in joined]
    assert {text for each in lists for text in each} == {answer.text for answer in joined}
    assert len(joined) <= MOST_ANSWERS
    scores = [answer.score for answer in joined if answer.score is not None]
    assert len(scores) == len(joined)
    assert all(math.isfinite(score) for score in scores)
    assert scores == sorted(scores, reverse=True)


def listed(*lines: str, best: float = -2.0) -> tuple[Hypothesis, ...]:
    """A list of answers of several words."""
    return tuple(
        Hypothesis(rank, tuple(HeardWord(word) for word in line.split()), best - rank)
        for rank, line in enumerate(lines)
    )


def test_both_heard_the_same_call() -> None:
    """They differ in one word of six, or in more until the nearest answers are compared."""
    heard = listed("checkpoint sixty three percent nine miles", "checkpoint sixty three percent five miles")

    assert heard_the_same(heard, listed("checkpoint sixty three percent five miles"))
    assert heard_the_same(
        heard, listed("checkpoint outside thirteen", "checkpoint sixty three percent nine mile")
    )


def test_talk_is_heard_otherwise_by_each() -> None:
    """What one makes a call of, the other makes another one of, or none."""
    heard = listed("checkpoint six hundred forty three miles eleven ten a m sixty five percent")

    assert not heard_the_same(heard, listed("checkpoint forty a m trip nineteen indicated seven"))
    assert not heard_the_same(listed("checkpoint one percent ten a m"), ())
    assert not heard_the_same((), heard)


def test_one_that_is_sure_stands_alone() -> None:
    """In much noise the second hears another call or none."""
    line = "checkpoint twenty six percent nine"
    other = listed("checkpoint forty a m trip nineteen indicated seven")

    assert heard_the_same(listed(line, best=-0.4), ())
    assert not heard_the_same(listed(line, best=-0.6), ())
    assert heard_the_same(listed(line, best=-0.2), other)
    assert not heard_the_same(listed(line, best=-0.4), other)


def test_a_short_one_does_not_stand_alone() -> None:
    """A few words that nobody else hears, again and again, may be a noise."""
    assert not heard_the_same(listed("checkpoint twenty six percent", best=0.0), ())
    assert not heard_the_same(listed("how far how far how far how far", best=0.0), ())
    assert heard_the_same(listed("checkpoint how far", best=0.0), listed("checkpoint time five"))


def test_nothing_is_struck_on_ones_word_alone() -> None:
    """Of "strike three, that makes it seven to five", in number-rich REPORT talk, the call model makes this and is sure of it."""
    line = "strike that note stopped say again"

    assert not heard_the_same(listed(line, best=-0.18), ())
    assert heard_the_same(listed(line, best=-0.18), listed(line))


def test_who_talked_before_is_not_believed_alone() -> None:
    """The "point to two percent" of "a quarter of a point to two percent" is no call unless the other one hears it so as well."""
    (heard,) = listed("checkpoint twenty two percent nine miles", best=0.0)
    other = listed("checkpoint range six three five point seven miles two two percent")

    def begins(start_ns: int) -> tuple[Hypothesis, ...]:
        first, *rest = heard.words
        return (replace(heard, words=(replace(first, start_ns=start_ns), *rest)),)

    for against in ((), other):
        assert heard_the_same(begins(500_000_000), against)
        assert not heard_the_same(begins(2_800_000_000), against)
    assert heard_the_same(begins(2_800_000_000), (heard,))


def test_a_short_one_opens_alike() -> None:
    """A question that one takes for a reading is still a call; talk that opens otherwise is none."""
    assert heard_the_same(listed("checkpoint how far"), listed("checkpoint time five"))
    assert not heard_the_same(listed("how far"), listed("checkpoint time five"))
