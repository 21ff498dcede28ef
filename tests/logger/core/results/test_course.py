"""The way in steps and cells: directions against pyproj, stops, speeds, gaps."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from pyproj import Geod
from simulated_drives import Noise, constant, drive
from tracked_drives import seen_of, straight

from logger.core.results.course import CELL_M, Course, course_of, steps_of
from logger.core.track import Track


def track_of(fixes: list) -> Track:  # type: ignore[type-arg]
    """The track of fixes."""
    return Track.from_fixes(fixes)[0]


def course(track: Track) -> Course:
    """The course, which there must be."""
    found = course_of(track)
    assert isinstance(found, Course)
    return found


@pytest.mark.parametrize("azimuth_deg", [0.0, 33.0, 90.0, 178.0, 271.5])
def test_directions_are_those_of_pyproj(azimuth_deg: float) -> None:
    """Cell by cell on a straight road of 30 km, within 0.05 degrees."""
    track = track_of(straight(azimuth_deg, np.arange(0.0, 30_000.0, 25.0)))
    found = course(track)
    lat, lon = (np.interp(found.edges_m, track.distance_m, each) for each in (track.lat_deg, track.lon_deg))
    theirs, _, lengths = Geod(ellps="WGS84").inv(lon[:-1], lat[:-1], lon[1:], lat[1:])

    ours = np.degrees(np.arctan2(found.east, found.north))
    assert 0.05 > float(np.abs((ours - theirs + 180.0) % 360.0 - 180.0).max())
    np.testing.assert_allclose(np.hypot(found.east, found.north), 1.0, atol=1e-3)
    np.testing.assert_allclose(found.lengths_m, lengths, rtol=1e-3)


def test_a_noisy_lap_has_its_directions() -> None:
    """Round a circle with a receiver's noise the directions sum to nothing, and each is within 2 degrees of the tangent."""
    fixes, _ = drive(constant(30.0), 3_700.0, Noise(2.5, 60.0, 0.4, 0.1), seed=3)
    found = course(track_of(fixes))
    # The circle begins in the north of its centre and is driven clockwise.
    turned = found.middles_m / 18_000.0
    off = np.arctan2(found.east, found.north) - (turned + math.pi / 2.0)

    assert math.radians(2.0) > float(np.abs((off + math.pi) % (2 * math.pi) - math.pi)[5:-5].max())
    assert 0.995 < float(np.median(np.hypot(found.east, found.north)))


def stopping() -> list:  # type: ignore[type-arg]
    """10 km at 25 m/s, 120 s standing, 10 km more: full braking between fixes."""
    driven = np.concatenate(
        (np.arange(0.0, 10_000.0, 25.0), np.full(121, 10_000.0), np.arange(10_025.0, 20_001.0, 25.0))
    )
    speeds = np.where(np.abs(np.diff(driven, append=20_025.0)) > 0.0, 25.0, 0.0)
    return straight(120.0, driven, speeds_mps=speeds)


def test_a_stop_is_found_and_cut_out() -> None:
    """One of two minutes at 10 km; the cells' speed is that of driving, and the speed at the stop is 0."""
    track = track_of(stopping())
    steps, found = steps_of(track), course(track)

    assert 1 == len(steps.stops)
    assert pytest.approx(120.0, abs=2.0) == found.standing_s
    at_stop = int(np.argmin(np.abs(found.edges_m - 10_000.0)))
    assert pytest.approx(10_000.0, abs=15.0) == found.edges_m[at_stop]
    assert 0.0 == found.edge_mps[at_stop]
    assert pytest.approx(800.0, abs=2.0) == float(found.seconds.sum())
    assert pytest.approx(25.0, rel=0.1) == float(np.median(found.speed_mps))


def test_a_pause_of_three_seconds_is_no_stop() -> None:
    """Less than five."""
    driven = [*range(0, 5_000, 25), 5_000, 5_000, 5_000, *range(5_025, 9_000, 25)]

    assert () == steps_of(track_of(straight(0.0, driven))).stops


def test_gaps_are_not_seen_and_other_days_take_no_time() -> None:
    """A minute without fixes; then half a day."""
    track = track_of(straight(0.0, np.arange(0.0, 20_000.0, 25.0)))
    utc_ns = track.utc_ns.copy()
    utc_ns[400:] += 60_000_000_000
    utc_ns[700:] += 12 * 3600 * 1_000_000_000
    steps = steps_of(dataclasses.replace(track, utc_ns=utc_ns))

    assert [399] == np.flatnonzero(~steps.seen).tolist()
    assert pytest.approx(799.0 - 1.0 + 60.0) == float(steps.seconds.sum())


def test_a_car_that_hardly_drove_has_no_course() -> None:
    """Less than a kilometre."""
    assert "only 0.80 km" in str(course_of(track_of(straight(0.0, np.arange(0.0, 801.0, 25.0)))))


@pytest.mark.parametrize("gap_m", [0.0, 5.0, 30.0, 190.0])
def test_cells_are_never_tiny(gap_m: float) -> None:
    """Two stops near each other, wherever they are to the grid."""
    driven = np.concatenate(
        (
            np.arange(0.0, 2_000.0, 25.0),
            np.full(9, 2_000.0),
            np.full(9, 2_000.0 + gap_m),
            np.arange(2_000.0 + gap_m, 9e3, 25.0),
        )
    )
    found = course(track_of(straight(10.0, driven)))

    assert 10.0 <= float(found.lengths_m.min())
    assert 1.6 * CELL_M > float(found.lengths_m.max())
    assert 60.0 > float(found.speed_mps.max())
    assert seen_of(None).track is None
