"""Courses of drives in one chart."""

from __future__ import annotations

from dataclasses import replace

import pytest
from compared import summary

from logger.core.comparing.overlay import KINDS, LEAST_DRIVES, PLACES, overlay, points
from logger.core.comparing.rows import MANY
from logger.core.comparing.summary import Course
from logger.core.comparing.whole import compared
from logger.core.reporting.figure_words import ShownUnits

CHARGE, PROJECTED = KINDS
KM, MI = ShownUnits("km"), ShownUnits("mi")
FEW = compared([("one", summary()), ("two", replace(summary(), charge=Course((), ())))])
HUNDRED = compared((f"d{k}", summary()) for k in range(100))


def test_a_few_have_a_line_each() -> None:
    """Of those that have the quantity; the ends are told in words, in the units asked for."""
    shown = overlay(FEW, CHARGE, (), KM)

    assert ["one"] == [name for name, _ in shown.lines]
    assert "Charge over distance of 1 drive. one: 100 % at 0 km to 3 % at 400 km." == shown.chart.shows
    assert "410 km at 200 km to 400 km" in overlay(FEW, PROJECTED, (), KM).chart.shows
    assert "100 % at 0 mi to 3 % at 249 mi" in overlay(FEW, CHARGE, (), MI).chart.shows


def test_nothing_to_draw_is_said() -> None:
    """No drive with a charge, and too few drives for bands."""
    nothing = compared([("one", replace(summary(), charge=Course((), ())))])

    assert "No drive has a charge" in overlay(nothing, CHARGE, (), KM).chart.missing
    assert (
        f"Fewer than {LEAST_DRIVES} drives"
        in overlay(HUNDRED, CHARGE, ((0.0, 4, 1, 2, 3, 4, 5),), KM).chart.missing
    )


def test_many_are_bands() -> None:
    """Rows with too few drives are left out, and the first and last are told in words."""
    rows = (
        (0.0, 100, 95.0, 98.0, 99.0, 100.0, 100.0),
        (300.0, 60, 5.0, 9.0, 12.0, 20.0, 30.0),
        (400.0, 3, 1.0, 2.0, 3.0, 4.0, 5.0),
    )
    shown = overlay(HUNDRED, CHARGE, rows, KM)

    assert len(HUNDRED) > MANY
    assert (rows[:2], ()) == (shown.bands, shown.lines)
    assert "At 300 km: median 12 %, half of the drives between 9 % and 20 %." in shown.chart.shows


def test_points_lie_on_each_course_and_within_it() -> None:
    """At the same places for all drives; a course that begins later has none before; one point is no course."""
    late = replace(summary(), charge=Course((200.0, 300.0), (50.0, 30.0)))
    lone = replace(summary(), charge=Course((10.0,), (50.0,)))
    found = points(compared([("whole", summary()), ("late", late), ("lone", lone)]), CHARGE)
    pairs = list(zip(found["place"], found["value"], strict=True))

    assert PLACES + sum(200.0 <= 400.0 * k / (PLACES - 1) <= 300.0 for k in range(PLACES)) == len(pairs)
    assert (0.0, 100.0) == pairs[0]
    for place, value in pairs[PLACES:]:
        assert pytest.approx(50.0 - (place - 200.0) * 0.2) == value
    assert {"place": [], "value": []} == points(compared([("lone", lone)]), CHARGE)
