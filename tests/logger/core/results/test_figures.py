"""Figures in the units of miles and kilometres, and finding them in their sections. Conversions: check-values.md section 1."""

from __future__ import annotations

import pytest

from logger.core.results.figures import Absent, Figure, Line, Section, found, shown


def test_a_distance_is_shown_in_miles() -> None:
    """Value and interval are converted by the mile of 1609.344 m; the words stay."""
    figure = Figure(160.9344, "km", 80.4672, 321.8688, "the road", remark="As driven.")

    assert Figure(
        pytest.approx(100.0), "mi", pytest.approx(50.0), pytest.approx(200.0), "the road", remark="As driven."
    ) == shown(figure, "mi")


def test_the_ends_of_a_reciprocal_change_places() -> None:
    """15 kWh/100 km is 4.142475 mi/kWh (check-values.md section 1); the better end of consumption is the higher of efficiency."""
    told = shown(Figure(150.0, "Wh/km", 140.0, 160.0), None, unit="mi/kWh")

    assert pytest.approx(4.142475, rel=1e-6) == told.value
    assert told.low is not None
    assert told.high is not None
    assert pytest.approx(1000.0 / 160.0 / 1.609344) == told.low
    assert pytest.approx(1000.0 / 140.0 / 1.609344) == told.high


@pytest.mark.parametrize("figure", [Figure(0.0, "Wh/km"), Figure(12.0, "kg/m3"), Figure(3.0, "")])
def test_what_cannot_be_converted_stays(figure: Figure) -> None:
    """The reciprocal of 0, a unit of no other name, and a plain number stay as they are."""
    assert figure == shown(figure, None, unit="mi/kWh")


def test_without_an_interval() -> None:
    """A figure without an interval gets none."""
    assert (None, None) == (shown(Figure(1.0, "km"), "mi").low, shown(Figure(1.0, "km"), "mi").high)


def test_lines_are_found_by_key() -> None:
    """A section gives the answer of a line, and says which one it has not."""
    why = Absent("Nobody looked.")
    section = Section("a", "A", (Line("one", "One", Figure(1.0, "km")), Line("two", "Two", why)))

    assert why == section.answer("two")
    assert (Figure(1.0, "km"),) == found(line.answer for line in section.lines)
    with pytest.raises(KeyError):
        section.answer("three")
