"""The default quantities."""

from __future__ import annotations

from grammar import UNITS, default_quantities


def test_both_systems_know_the_same_units_and_differ_in_the_first() -> None:
    """Miles and kilometres are equals."""
    miles, metric = default_quantities("miles"), default_quantities("metric")

    assert [q.name for q in miles] == [q.name for q in metric]
    for one, other in zip(miles, metric, strict=True):
        assert set(one.units) == set(other.units) <= set(UNITS.values())
    assert ("mi", "km") == (miles[1].unit, metric[1].unit)
