"""Climb and descent: hills whose climb is known, and flat ground, which has none."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tracked_drives import seen_of, straight

from logger.core.geodesy import Floats
from logger.core.results.altitude import MOST_POINTS, altitude, profile_series
from logger.core.results.climbing import LEAST_BAND_M
from logger.core.results.figures import Absent, Figure
from logger.core.results.observed import Observed

SPEED_MPS = 27.0


def drive(seed: int, height: float, *, km: float = 150.0, wander_m: float = 3.0) -> Observed:
    """A straight road of 150 km over waves of 5 km and twice `height`, and of 30 km and 100 m, with a receiver's noise."""
    driven = np.arange(0.0, 1000.0 * km, SPEED_MPS)
    rng = np.random.default_rng(seed)
    keep, value, walk = math.exp(-1.0 / 60.0), 0.0, []
    for push in rng.normal(0.0, wander_m * math.sqrt(1.0 - keep * keep), len(driven)).tolist():
        value = keep * value + push
        walk.append(value)
    off = np.array(walk) + rng.normal(0.0, 0.5, len(driven))

    def road(along: Floats) -> Floats:
        long = 50.0 if height else 0.0
        return np.asarray(
            300.0
            - height * np.cos(2 * math.pi * along / 5e3)
            - long * np.cos(2 * math.pi * along / 30e3)
            + off
        )

    return seen_of(straight(30.0, driven, road))


def figure(seen: Observed, key: str) -> Figure:
    """The figure, which there must be."""
    answer = altitude(seen).answer(key)
    assert isinstance(answer, Figure)
    return answer


@pytest.mark.parametrize("seed", range(2))
def test_flat_ground_has_about_no_climb(seed: int) -> None:
    """Under 20 m in 150 km, where the altitudes as they come climb by more than a kilometre; 0 lies within."""
    seen = drive(seed, 0.0)
    assert seen.track is not None
    steps = np.diff(seen.track.altitude_m)

    assert 1_000.0 < float(steps[steps > 0].sum())
    for key in ("climb", "descent"):
        found = figure(seen, key)
        assert 20.0 > found.value
        assert 0.0 == found.low


@pytest.mark.parametrize("seed", range(3))
def test_known_hills(seed: int) -> None:
    """30 waves of 24 m and 5 of 100 m together: the climb is that of the road within three standard deviations, and 8 %."""
    seen = drive(seed, 12.0)
    along = np.arange(0.0, 150_000.0, 1.0)
    road = -12.0 * np.cos(2 * math.pi * along / 5e3) - 50.0 * np.cos(2 * math.pi * along / 30e3)
    steps = np.diff(road)
    truth = float(steps[steps > 0].sum())

    for key in ("climb", "descent"):
        found = figure(seen, key)
        assert found.low is not None
        assert found.high is not None
        assert abs(found.value - truth) < 3.0 * (found.high - found.low) / 3.92
        assert pytest.approx(truth, rel=0.08) == found.value
        assert "m count as level" in found.remark


def test_the_dead_band_is_told() -> None:
    """At least 5 m."""
    remark = figure(drive(1, 12.0, km=60.0), "climb").remark

    assert LEAST_BAND_M <= float(remark.split()[-5])


def test_extremes_and_mean() -> None:
    """300 m between 238 and 362, where the receiver is off by 3."""
    seen = drive(2, 12.0)

    assert pytest.approx(300.0, abs=3.0) == figure(seen, "mean").value
    assert pytest.approx(238.0, abs=8.0) == figure(seen, "lowest").value
    assert pytest.approx(362.0, abs=8.0) == figure(seen, "highest").value


def test_the_profile_is_thinned() -> None:
    """Some hundred points, along the way."""
    series = profile_series(drive(0, 12.0))

    assert MOST_POINTS == len(series.distance_km) == len(series.altitude_m)
    assert np.all(np.diff(series.distance_km) > 0.0)
    assert pytest.approx(150.0, abs=0.2) == float(series.distance_km[-1])


def test_without_altitude_or_track() -> None:
    """Each figure says why, and the profile is empty."""
    for seen, why in (
        (seen_of(None), "no track"),
        (seen_of(straight(0.0, range(0, 9000, 25))), "no altitudes"),
    ):
        section = altitude(seen)
        assert all(isinstance(line.answer, Absent) and why in line.answer.why for line in section.lines)
        assert 0 == len(profile_series(seen).altitude_m)
