"""The track while it is driven is the whole track's, and quick however long the drive."""

from __future__ import annotations

import time

import numpy as np
import pytest

from logger.core.live_track import LiveTrack
from logger.core.track import Track
from logger.model import Fix

S = 1_000_000_000
BEGAN = 1_900_000_000 * S


def drive(seconds: int) -> list[Fix]:
    """North at about 25 m/s with a fix a second."""
    return [Fix(BEGAN + at * S, 52.0 + at * 25 / 111_250, 1.7, 11.0, 25.0, 0.9) for at in range(seconds)]


def test_the_same_as_the_whole_track() -> None:
    """Over an hour, which is three pieces: place and distance agree with the track made of all fixes, also between pieces."""
    fixes = drive(3600)
    live = LiveTrack()
    for fix in fixes:
        live.add(fix)
    whole = Track.from_fixes(fixes)[0]

    assert pytest.approx(whole.length_m, rel=1e-6) == live.distance_m
    for at_ns in (0, 1_500_000_000, 1198 * S, 1199 * S + 500_000_000, 2000 * S, 3599 * S, 3601 * S):
        expected, found = whole.at(BEGAN + at_ns), live.at(BEGAN + at_ns)
        assert expected is not None
        assert found is not None
        assert pytest.approx(expected.distance_m, abs=0.5) == found.distance_m
        assert pytest.approx(expected.lat_deg, abs=1e-7) == found.lat_deg
    assert live.at(BEGAN - 4 * S) is None
    assert live.at(BEGAN + 3604 * S) is None


def test_without_fixes_there_is_no_place() -> None:
    """None yet, or none usable."""
    live = LiveTrack()
    assert (None, 0.0) == (live.at(BEGAN), live.distance_m)
    live.add(Fix(2**62, 52.0, 1.7))  # dated after 2116
    assert (None, 0.0) == (live.at(BEGAN), live.distance_m)


def test_time_that_jumps_back_is_no_error() -> None:
    """A receiver that goes back an hour in the middle of a drive."""
    live = LiveTrack()
    for fix in [
        *drive(100),
        *(Fix(each.utc_ns - 3600 * S, each.lat_deg, each.lon_deg) for each in drive(100)),
    ]:
        live.add(fix)
    place = live.at(BEGAN + 50 * S)

    assert place is not None
    assert pytest.approx(52.0 + 50 * 25 / 111_250, abs=1e-6) == place.lat_deg


def test_five_hours_are_asked_as_quickly_as_one() -> None:
    """An answer after each of the last fixes of five hours takes less than a tenth of making the whole track."""
    fixes = drive(18_000)
    live = LiveTrack()
    for fix in fixes[:-5]:
        live.add(fix)
    live.at(BEGAN)
    began_s = time.process_time()
    Track.from_fixes(fixes)
    whole_s = time.process_time() - began_s
    began_s = time.process_time()
    for fix in fixes[-5:]:
        live.add(fix)
        live.at(fix.utc_ns)
    live_s = (time.process_time() - began_s) / 5

    assert live_s < whole_s / 4


def test_all_of_it_as_one() -> None:
    """Over three pieces: the same columns as the track made of all fixes, whose time may stand where two pieces meet."""
    assert LiveTrack().whole() is None
    fixes = drive(3000)
    live = LiveTrack()
    for fix in fixes:
        live.add(fix)
    found, whole = live.whole(), Track.from_fixes(fixes)[0]

    assert found is not None
    assert whole.began_utc_ns == found.began_utc_ns
    assert whole.ended_utc_ns == found.ended_utc_ns
    assert (np.diff(found.utc_ns) >= 0).all()
    assert (np.diff(found.distance_m) >= 0).all()
    expected_m = np.interp(found.utc_ns, whole.utc_ns, whole.distance_m)
    assert np.abs(expected_m - found.distance_m).max() < 0.5
    assert {*whole.lat_deg.tolist()} == {*found.lat_deg.tolist()}


def test_going_on_with_a_drive() -> None:
    """What came while the program was starting comes after what an earlier run stored, of which there is more than a piece."""
    fixes = drive(3000)
    live = LiveTrack()
    for fix in fixes[2990:]:
        live.add(fix)
    assert pytest.approx(9 * 25.0, rel=1e-3) == live.distance_m

    live.go_on_from(fixes[:2990])

    assert pytest.approx(Track.from_fixes(fixes)[0].length_m, rel=1e-6) == live.distance_m
    place = live.at(BEGAN + 2000 * S)
    assert place is not None
    assert pytest.approx(50_000.0, rel=1e-3) == place.distance_m
