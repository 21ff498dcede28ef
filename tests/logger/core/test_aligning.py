"""Sequences laid side by side: held to rapidfuzz's edit distance."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from logger.core.aligning import aligned


def differs(one: str, other: str) -> float:
    """0 for the same letter, 1 for another."""
    return float(one != other)


def test_a_lost_and_an_added_one() -> None:
    """What both have stands side by side in order, what one lacks stands alone."""
    assert [0, 1, None, 2] == aligned("abxc", "abc", differs, 1.0)
    assert [0, 1, 3] == aligned("abc", "abxc", differs, 1.0)
    assert [] == aligned("", "abc", differs, 1.0)


@given(st.text("abc", max_size=8), st.text("abc", max_size=8))
def test_nothing_is_cheaper(one: str, other: str) -> None:
    """The alignment costs what Levenshtein's distance of the reference library says, and keeps the order."""
    beside = aligned(one, other, differs, 1.0)
    used = [index for index in beside if index is not None]
    apart = sum(differs(one[at], other[index]) for at, index in enumerate(beside) if index is not None)

    assert used == sorted(set(used))
    assert Levenshtein.distance(one, other) == apart + len(one) + len(other) - 2 * len(used)
