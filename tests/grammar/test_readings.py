"""Records compare by what was said, not where."""

from __future__ import annotations

from decimal import Decimal

from grammar import Command, CommandKind, Meaning, Reading


def test_the_place_in_the_phrase_does_not_count() -> None:
    """The same reading said later in a phrase is the same reading."""
    here, there = (Reading("charge", Decimal(6), "%", first_word=n, end_word=n + 2) for n in (1, 5))

    assert here == there
    assert (here,) == Meaning((here, Command(CommandKind.STRIKE))).readings
