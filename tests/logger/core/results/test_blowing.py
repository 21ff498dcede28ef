"""A noted wind along the way: directions, the trade's figures, and what is not known of it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tracked_drives import out_and_back, straight

from logger.core.results.blowing import WANDER_S, Wind, drag_factor, wind_of
from logger.core.results.course import Course, course_of
from logger.core.results.told import told_by
from logger.core.track import Track


def course(fixes: list) -> Course:  # type: ignore[type-arg]
    """The course of fixes."""
    found = course_of(Track.from_fixes(fixes)[0])
    assert isinstance(found, Course)
    return found


def wind(test: dict[str, float]) -> Wind:
    """The wind of a sheet."""
    found = wind_of(told_by(test))
    assert isinstance(found, Wind)
    return found


@pytest.mark.parametrize(
    ("azimuth_deg", "from_deg", "headwind"),
    [
        (0, 0, 5.0),
        (0, 180, -5.0),
        (90, 90, 5.0),
        (90, 0, 0.0),
        (225, 225, 5.0),
        (300, 0, 2.5),
        (300, 360, 2.5),
    ],
)
def test_a_wind_comes_from_where_it_is_named(azimuth_deg: float, from_deg: float, headwind: float) -> None:
    """A north wind is against a car that goes north."""
    found = wind({"wind_mps": 5.0, "wind_from_deg": from_deg}).headwind_mps(
        course(straight(azimuth_deg, range(0, 9_000, 25)))
    )

    np.testing.assert_allclose(found, headwind, atol=0.02)


def test_ten_miles_an_hour_at_seventy() -> None:
    """Common practice (shared/check-values.md, section 10): 31 % more drag against it, 27 % less with it, 2 % more both ways."""
    mph = 0.44704
    there = course(out_and_back(0.0, 20_000.0, 70 * mph))
    headwind = wind({"wind_mph": 10.0, "wind_from_deg": 0.0}).headwind_mps(there)
    out = there.middles_m < 19_900.0
    back = there.middles_m > 20_100.0

    drags = [drag_factor(there.speed_mps[leg], headwind[leg], there.lengths_m[leg]) for leg in (out, back)]
    assert pytest.approx([(80 / 70) ** 2, (60 / 70) ** 2], abs=2e-3) == drags
    assert pytest.approx([1.31, 0.73], abs=0.006) == drags
    assert pytest.approx(1.0 + (10 / 70) ** 2, abs=2e-3) == sum(drags) / 2.0


def test_a_tailwind_faster_than_the_car_pushes() -> None:
    """Drag goes by v |v|: from behind at twice the speed it is as large and the other way."""
    one = np.ones(3)

    assert -1.0 == drag_factor(10.0 * one, -20.0 * one, one)


def test_what_is_not_known_of_it() -> None:
    """On a straight road into the wind: 20 % and half a metre, and an hour's wander of 20 % over the drive's four hours."""
    there = course(straight(0.0, np.arange(0.0, 360_000.0, 50.0), every_s=2.0))
    modes = wind({"wind_mps": 5.0, "wind_from_deg": 0.0}).modes_mps(there)
    means = modes @ there.lengths_m / there.lengths_m.sum()

    wander = 5.0 * 0.2
    hours = 14_400.0 / WANDER_S
    # The variance of the mean of a Gauss-Markov process over T of its times: 2 (T - 1 + e^-T) / T^2.
    slow = wander**2 * 2.0 * (hours - 1.0 + math.exp(-hours)) / hours**2
    assert pytest.approx(math.sqrt(0.5**2 + 1.0**2 + slow), rel=0.02) == float(np.linalg.norm(means))
    single = np.sqrt((modes**2).sum(axis=0) - modes[0] ** 2)
    assert pytest.approx(wander, rel=0.12) == float(np.median(single))


def test_across_the_road_the_direction_counts() -> None:
    """A west wind on a road north: 15 degrees of it are 1.3 m/s along the road."""
    there = course(straight(0.0, np.arange(0.0, 36_000.0, 50.0), every_s=2.0))
    modes = wind({"wind_mps": 5.0, "wind_from_deg": 270.0}).modes_mps(there)

    assert pytest.approx(0.0, abs=0.01) == float(np.abs(modes[0]).max())
    assert pytest.approx(math.hypot(0.5, 5.0 * 0.26), rel=0.01) == float(np.abs(modes[1]).mean())


@pytest.mark.parametrize(
    ("test", "why"),
    [({}, "tells no wind"), ({"wind_mps": 3}, "wind_from_deg"), ({"wind_from_deg": 30}, "tells no wind")],
)
def test_what_is_missing_is_said(test: dict[str, float], why: str) -> None:
    """Speed or direction."""
    assert why in str(wind_of(told_by(test)))


def test_calm_needs_no_direction() -> None:
    """0 m/s from anywhere, known within half a metre."""
    found = wind({"wind_mps": 0})

    assert (0.0, 0.5, 0.5) == (found.speed_mps, found.along_sd, found.across_sd)
