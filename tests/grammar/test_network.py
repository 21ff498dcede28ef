"""Networks refuse what would never end, and know where one thing said ends and the next begins."""

from __future__ import annotations

import pytest

from grammar import GrammarError
from grammar.network import Network
from grammar.nodes import Loop, Mark, MarkKind, choice, maybe, seq


def test_repeating_nothing_is_refused() -> None:
    """A loop around what may be empty has no end."""
    with pytest.raises(GrammarError):
        Network(Loop(maybe("one")))


def test_doors_are_where_something_opens() -> None:
    """Moves that close what was said end where an opening mark leads on; moves that open begin with it."""
    start, unit = Mark(MarkKind.START), Mark(MarkKind.UNIT, "u")
    network = Network(Loop(seq(start, "one", unit)))
    [(_, begun)] = network.marked_moves(network.start)
    (arrived,) = network.targets(begun, "one")
    closing = network.closing_moves(arrived)
    doors = [door for marks, door in closing if door != network.end and marks == (unit,)]

    assert ((unit,), network.end) in closing
    assert [(start,)] == [marks for door in doors for marks, _ in network.opening_moves(door)]


def test_words_that_follow_within_and_behind_a_door() -> None:
    """A "b" goes on with what "a" began, or begins anew; "a" only begins anew."""
    network = Network(Loop(seq(Mark(MarkKind.START), choice(seq("a", maybe("b")), "b"))))

    assert (frozenset({"b"}), frozenset({"a", "b"})) == network.words_after("a")
    assert (frozenset(), frozenset({"a", "b"})) == network.words_after("b")
    assert network.words_after("c") is None
