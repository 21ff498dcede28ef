"""Drives compared."""

from __future__ import annotations

from dataclasses import replace

from compared import summary

from logger.core.comparing.whole import compared, usual_distances


def test_each_keeps_its_name_and_gets_its_flags() -> None:
    """In the order given."""
    drives = compared([("b", summary()), ("a", summary(doubts=1)), ("c", summary())])

    assert ["b", "a", "c"] == [each.name for each in drives]
    assert [[], ["doubts"], []] == [[flag.kind for flag in each.flags] for each in drives]


def test_units_are_those_of_most_dashes() -> None:
    """Miles where more dashes count in them, else kilometres."""
    km, mi = summary(), replace(summary(), distances="mi")

    assert "mi" == usual_distances(compared([("a", mi), ("b", mi), ("c", km)]))
    assert "km" == usual_distances(compared([("a", mi), ("b", km)]))
