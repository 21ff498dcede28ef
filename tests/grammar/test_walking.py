"""Ways through a network piece by piece: from door to door, each once, nothing remembered of words outside."""

from __future__ import annotations

from grammar.network import Network
from grammar.nodes import Loop, Mark, MarkKind, Node, choice, digits, seq
from grammar.walking import MOST_TRAILS, Walker

ENDS = (Mark(MarkKind.QUANTITY, "n"), Mark(MarkKind.UNIT, "u"))


def part(*spoken: Node) -> Node:
    """Return a part that starts, is one of those spoken once or more often, and says what it was."""
    return seq(Mark(MarkKind.START), Loop(choice(*spoken)), *ENDS)


ONE = seq("one", digits("1"))
MAYBE_TWO = seq("one", digits("2"))


def said(walker: Walker, begun: tuple[int, ...], words: str) -> list[str]:
    """Return the digits of each way."""
    crossing = walker.crossing(begun, tuple(words.split()))
    assert crossing is not None
    return [
        "".join(
            mark.text
            for placed in trail
            for marks in (placed, placed.opening)
            if marks is not None
            for mark in marks.marks
            if mark.kind is MarkKind.DIGITS
        )
        for ways in crossing.ways
        for _, trail in ways
    ]


def test_every_way_is_walked_once() -> None:
    """Two ways to say each of two words, one of them written twice."""
    network = Network(part(ONE, MAYBE_TWO, ONE))

    assert sorted(["11", "12", "21", "22"]) == sorted(said(Walker(network), (network.start,), "one one"))


def test_walks_go_on_from_doors() -> None:
    """What some words lead to is where the next ones begin, and the place they come from is told."""
    network = Network(Loop(part(ONE)))
    walker = Walker(network)
    first = walker.crossing((network.start,), ("one",))
    assert first is not None
    doors = tuple(door for together in first.exits for door in together)
    second = walker.crossing(doors, ("one", "one"))

    assert network.end in doors
    assert second is not None
    assert network.end in (door for together in second.exits for door in together)
    assert {doors.index(door) for door in doors if network.opening_moves(door)} == {
        place for ways in second.ways for place, _ in ways
    }


def test_words_that_lead_nowhere() -> None:
    """No way at all, also from where nothing may begin."""
    network = Network(part(ONE))
    walker = Walker(network)

    assert walker.crossing((network.start,), ("two",)) is None
    assert walker.crossing((network.start,), ("one", "two")) is None
    assert walker.crossing((network.end,), ("one",)) is None


def test_ways_beyond_number_are_bounded() -> None:
    """Two ways to say each of twenty words would be a million."""
    network = Network(part(ONE, MAYBE_TWO))

    assert len(said(Walker(network), (network.start,), "one " * 20)) == MOST_TRAILS
