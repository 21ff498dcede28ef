"""The track: where the car was at an instant, and what is said about its fixes."""

from __future__ import annotations

import random
import time
from pathlib import Path

import numpy as np
import pytest
from gpxpy_files import gpxpy_file
from hypothesis import given, settings
from hypothesis import strategies as st
from simulated_drives import Noise, constant, drive

from logger.core.track import EDGE_NS, Track
from logger.core.utc import parse_utc_ns
from logger.errors import TrackError
from logger.model import Fix, Place
from logger.tracks import read_track

NANO = 1_000_000_000
START_NS = parse_utc_ns("2026-05-03T09:12:00Z")


def north(seconds: list[float], speed_mps: float = 20.0) -> list[Fix]:
    """Fixes of a drive due north from 45 N at the given seconds; speed as the receiver's."""
    return [
        Fix(START_NS + round(s * NANO), 45.0 + s * speed_mps / 111_132.0, 13.0, 100.0 + s, speed_mps)
        for s in seconds
    ]


def place(track: Track, seconds: float) -> Place:
    """The place so many seconds after the start, which must be known."""
    found = track.at(START_NS + round(seconds * NANO))
    assert found is not None
    return found


def test_between_fixes_everything_runs_straight() -> None:
    """Halfway between two fixes, position, distance and speed are halfway too."""
    track, issues = Track.from_fixes(north([0.0, 1.0, 2.0]))
    found = place(track, 0.5)

    assert () == issues
    assert pytest.approx(45.0 + 10.0 / 111_132.0, abs=1e-12) == found.lat_deg
    assert 13.0 == found.lon_deg
    assert pytest.approx(10.0, abs=1e-3) == found.distance_m
    assert 20.0 == found.speed_mps
    assert 1.0 == found.gap_s


def test_at_a_fix_the_gap_is_nothing() -> None:
    """At the very instant of a fix, even beside a long gap, the place is measured."""
    track, _ = Track.from_fixes(north([0.0, 1.0, 200.0, 201.0]))

    assert 0.0 == place(track, 1.0).gap_s == place(track, 200.0).gap_s
    assert 199.0 == place(track, 100.0).gap_s


def test_across_a_gap_there_is_a_place_but_no_speed() -> None:
    """In a gap the place is on the straight line, its gap says how little that means, and no speed is made up."""
    track, issues = Track.from_fixes(north([0.0, 1.0, 201.0, 202.0]))
    found = place(track, 101.0)

    assert pytest.approx(20.0 + 2_000.0, rel=1e-3) == found.distance_m
    assert (None, 200.0) == (found.speed_mps, found.gap_s)
    assert ["no fix for 200 s from 2026-05-03T09:12:01.000Z; 4.00 km counted as a straight line"] == [
        issue.message for issue in issues
    ]


def test_outside_the_track_there_is_no_place() -> None:
    """Three seconds before and after are forgiven, more is None."""
    track, _ = Track.from_fixes(north([0.0, 1.0, 2.0]))

    assert 3.0 == place(track, -3.0).gap_s
    assert 0.0 == place(track, -3.0).distance_m
    assert track.length_m == place(track, 5.0).distance_m
    assert track.at(track.began_utc_ns - EDGE_NS - 1) is None
    assert track.at(track.ended_utc_ns + EDGE_NS + 1) is None


def test_without_receiver_speed_it_is_distance_over_time() -> None:
    """A track without speeds still says how fast the car was."""
    fixes = [Fix(f.utc_ns, f.lat_deg, f.lon_deg) for f in north([float(s) for s in range(60)])]
    track, _ = Track.from_fixes(fixes)

    assert 20.0 == pytest.approx(place(track, 30.5).speed_mps, rel=1e-3)
    assert 20.0 == pytest.approx(place(track, 30.0).speed_mps, rel=1e-3)


def test_one_fix_is_a_track() -> None:
    """A single fix has a place and no length."""
    track, issues = Track.from_fixes([Fix(START_NS, 45.0, 13.0)])

    assert ((), 0.0) == (issues, track.length_m)
    assert Place(45.0, 13.0, 0.0, None, 0.0) == place(track, 0.0)


def test_no_fix_is_an_error() -> None:
    """Nothing usable: one line that says so and what to do."""
    with pytest.raises(TrackError, match="no usable fix"):
        Track.from_fixes([])
    with pytest.raises(TrackError, match="no usable fix"):
        Track.from_fixes([Fix(START_NS, float("nan"), 0.0)])


def test_the_date_line_is_crossed_the_short_way() -> None:
    """From 179.9999 E to 179.9999 W is some metres, and the middle is at 180 either way."""
    track, _ = Track.from_fixes([Fix(START_NS, -17.0, 179.9999), Fix(START_NS + 2 * NANO, -17.0, -179.9999)])
    middle = place(track, 1.0)

    assert track.length_m == pytest.approx(21.29, abs=0.05)  # 0.0002 degrees of longitude at 17 S
    assert pytest.approx(180.0, abs=1e-9) == abs(middle.lon_deg)
    assert pytest.approx(179.99995, abs=1e-9) == place(track, 0.5).lon_deg
    assert pytest.approx(-179.99995, abs=1e-9) == place(track, 1.5).lon_deg


def test_another_day_in_the_file_is_told_and_not_driven() -> None:
    """A stale fix of the day before, 100 km off, does not add its way to the drive."""
    stale = Fix(START_NS - 86_400 * NANO, 44.0, 13.0)
    track, issues = Track.from_fixes([stale, *north([0.0, 1.0, 2.0])])

    assert ["track_another_day"] == [issue.code for issue in issues]
    assert "2026-05-02T09:12:00.000Z to 2026-05-03T09:12:00.000Z" in issues[0].message
    assert pytest.approx(40.0, abs=0.01) == track.length_m


def test_a_jump_that_lasts_is_told_and_not_driven() -> None:
    """Two long runs 50 km apart with a second between: both stay, the way between counts nothing."""
    first = north([float(s) for s in range(30)])
    second = [Fix(f.utc_ns, f.lat_deg + 0.45, f.lon_deg) for f in north([float(s) for s in range(30, 60)])]
    track, issues = Track.from_fixes(first + second)

    assert ["track_jump"] == [issue.code for issue in issues]
    assert pytest.approx(58 * 20.0, rel=5e-3) == track.length_m


def test_many_gaps_are_summed_up() -> None:
    """A recorder that rests for 20 s again and again gives ten messages and one for the rest."""
    track, issues = Track.from_fixes(north([20.0 * k for k in range(31)]))

    assert 11 == len(issues)
    assert "20 more gaps longer than 10 s, the longest 20 s" == issues[-1].message
    assert pytest.approx(12_000.0, rel=1e-3) == track.length_m


def test_altitude_and_absent_values() -> None:
    """Altitudes are kept beside the fixes; absent ones are NaN, not 0."""
    track, _ = Track.from_fixes([*north([0.0, 1.0]), Fix(START_NS + 2 * NANO, 45.0004, 13.0)])

    np.testing.assert_array_equal([100.0, 101.0, np.nan], track.altitude_m)
    np.testing.assert_array_equal([20.0, 20.0, np.nan], track.speed_mps)


def test_nothing_in_a_track_can_be_written() -> None:
    """Its arrays are read-only."""
    track, _ = Track.from_fixes(north([0.0, 1.0]))
    for name in ("utc_ns", "lat_deg", "lon_deg", "altitude_m", "speed_mps", "distance_m"):
        with pytest.raises(ValueError, match="read-only"):
            getattr(track, name)[0] = 0


def test_a_real_car_drive(tmp_path: Path) -> None:
    """The car track of gpxpy: 104 points, 514 s, 2736.00 m geodesic (check-values.md section 9); ours within 0.2 %."""
    read = read_track(gpxpy_file("around-visnjan-with-car.gpx", tmp_path))
    track, issues = Track.from_fixes(read.fixes)

    assert 104 == len(track.utc_ns)
    assert parse_utc_ns("2020-12-18T06:15:50Z") == track.began_utc_ns
    assert parse_utc_ns("2020-12-18T06:24:24Z") == track.ended_utc_ns
    assert pytest.approx(2_736.00, rel=2e-3) == track.length_m
    assert {"track_gap"} == {issue.code for issue in issues}


def test_twenty_thousand_fixes_take_a_second_or_two() -> None:
    """Building a track of 20 000 fixes and asking it 20 000 times stays far from quadratic."""
    fixes, _ = drive(constant(25.0), 20_000.0, Noise(white_m=2.0))
    random.Random(1).shuffle(fixes)
    began = time.process_time()
    track, _ = Track.from_fixes(fixes)
    built = time.process_time() - began
    for fix in fixes:
        track.at(fix.utc_ns + NANO // 3)
    asked = time.process_time() - began - built

    assert built < 4.0
    assert asked < 4.0


fixes_of_any_kind = st.lists(
    st.builds(
        Fix,
        utc_ns=st.integers(0, 400).map(lambda s: START_NS + s * NANO // 2),
        lat_deg=st.floats(44.99, 45.01) | st.floats(-90.0, 90.0),
        lon_deg=st.floats(12.99, 13.01) | st.floats(-180.0, 180.0),
        altitude_m=st.none() | st.floats(-100.0, 4_000.0),
        speed_mps=st.none() | st.floats(0.0, 60.0),
        hdop=st.none() | st.floats(0.5, 20.0),
    ),
    min_size=1,
    max_size=40,
)


@settings(deadline=None)
@given(fixes_of_any_kind)
def test_distance_never_falls_and_time_rises(fixes: list[Fix]) -> None:
    """Whatever the fixes, times rise strictly, the distance starts at 0, is finite and never falls."""
    track, _ = Track.from_fixes(fixes)

    assert bool(np.all(np.diff(track.utc_ns) > 0))
    assert 0.0 == track.distance_m[0]
    assert bool(np.all(np.diff(track.distance_m) >= 0.0))
    assert bool(np.all(np.isfinite(track.distance_m)))


@settings(deadline=None)
@given(fixes_of_any_kind, st.lists(st.floats(-2.0, 203.0), min_size=2, max_size=20))
def test_later_is_never_less_far(fixes: list[Fix], seconds: list[float]) -> None:
    """Distances at rising instants never fall."""
    track, _ = Track.from_fixes(fixes)
    places = [track.at(START_NS + round(s * NANO)) for s in sorted(seconds)]
    distances = [p.distance_m for p in places if p is not None]

    assert sorted(distances) == distances


@settings(deadline=None)
@given(fixes_of_any_kind, st.lists(st.floats(-10.0, 220.0), max_size=20), st.floats(0.0, 100.0))
def test_many_distances_are_those_of_the_places(
    fixes: list[Fix], seconds: list[float], longest_s: float
) -> None:
    """At fixes, between them, in gaps and outside: to the last bit what `at` says, NaN where it says nothing or in a long gap."""
    track, _ = Track.from_fixes(fixes)
    asked = [START_NS + round(s * NANO) for s in seconds] + [*track.utc_ns.tolist(), -(2**70), 2**70]
    places = [track.at(each) for each in asked]
    expected = [np.nan if p is None or p.gap_s > longest_s else p.distance_m for p in places]

    assert np.array_equal(expected, track.distances_m(asked, longest_s), equal_nan=True)


@settings(deadline=None)
@given(fixes_of_any_kind, st.randoms(use_true_random=False))
def test_the_order_of_fixes_does_not_matter(fixes: list[Fix], rng: random.Random) -> None:
    """A shuffled file gives the same track."""
    shuffled = list(fixes)
    rng.shuffle(shuffled)
    one, _ = Track.from_fixes(fixes)
    other, _ = Track.from_fixes(shuffled)

    np.testing.assert_array_equal(one.utc_ns, other.utc_ns)
    np.testing.assert_array_equal(one.lat_deg, other.lat_deg)
    np.testing.assert_array_equal(one.distance_m, other.distance_m)
