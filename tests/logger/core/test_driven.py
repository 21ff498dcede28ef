"""The driven distance on simulated drives whose length is known."""

from __future__ import annotations

import dataclasses

import pytest
from simulated_drives import NANO, Noise, Speeds, constant, drive, stop_and_go

from logger.core.geodesy import step_lengths_m
from logger.core.track import Track
from logger.model import Fix

DOPPLER = 0.1
"""Speed noise of an ordinary receiver in m/s (common practice)."""

QUIET = Noise()
WHITE = Noise(white_m=3.0)
SLOW = Noise(wander_m=3.0, wander_s=60.0, white_m=0.3)


def with_speed(noise: Noise) -> Noise:
    """The same noise from a receiver that reports speed."""
    return dataclasses.replace(noise, speed_mps=DOPPLER)


def length_m(fixes: list[Fix]) -> float:
    """The driven distance."""
    return Track.from_fixes(fixes)[0].length_m


@pytest.mark.parametrize("speed_mps", [31.0, 13.0])
@pytest.mark.parametrize("noise", [QUIET, WHITE, SLOW, *map(with_speed, (QUIET, WHITE, SLOW))])
def test_an_hour_at_constant_speed_is_right_within_a_thousandth(speed_mps: float, noise: Noise) -> None:
    """An hour on the loop, with white noise of 3 m or slow wander, with and without Doppler speed: within 0.1 %."""
    fixes, truth = drive(constant(speed_mps), 3600.0, noise)

    assert truth == pytest.approx(length_m(fixes), rel=1e-3)


def test_the_naive_sum_would_fail_that() -> None:
    """Adding up the steps from fix to fix is 0.9 % too long on the same hour: the method is needed."""
    fixes, truth = drive(constant(31.0), 3600.0, WHITE)
    track, _ = Track.from_fixes(fixes)

    assert float(step_lengths_m(track.lat_deg, track.lon_deg).sum()) > 1.005 * truth


@pytest.mark.parametrize("noise", [WHITE, SLOW, with_speed(WHITE), with_speed(SLOW)])
def test_ten_minutes_standing_are_no_distance(noise: Noise) -> None:
    """A parked car's wander stays under 10 m in ten minutes; the steps themselves add up to hundreds."""
    fixes, _ = drive(constant(0.0), 600.0, noise)

    assert length_m(fixes) < 10.0


@pytest.mark.parametrize(
    ("noise", "share"), [(WHITE, 2e-3), (SLOW, 3e-3), (with_speed(WHITE), 1e-3), (with_speed(SLOW), 1e-3)]
)
def test_a_town_drive_with_forty_stops(noise: Noise, share: float) -> None:
    """A minute of driving and half a minute of standing, forty times: within 0.1 % by speed, 0.3 % by position."""
    fixes, truth = drive(stop_and_go(13.0, 60.0, 30.0), 3600.0, noise)

    assert truth == pytest.approx(length_m(fixes), rel=share)


@pytest.mark.parametrize("step_s", [0.2, 0.5, 2.0])
def test_other_rates_than_one_hertz(step_s: float) -> None:
    """Five fixes a second or one in two seconds: still within 0.1 %."""
    fixes, truth = drive(constant(31.0), 1200.0, WHITE, step_s=step_s)

    assert truth == pytest.approx(length_m(fixes), rel=1e-3)


def test_speeds_in_the_wrong_unit_are_not_believed() -> None:
    """Speeds that are 3.6 times too high give the distance by position, and say so."""
    fixes, truth = drive(constant(25.0), 900.0, with_speed(SLOW))
    wrong = [dataclasses.replace(fix, speed_mps=(fix.speed_mps or 0.0) * 3.6) for fix in fixes]
    track, issues = Track.from_fixes(wrong)

    assert truth == pytest.approx(track.length_m, rel=2e-3)
    assert ["track_speed_disagrees"] == [issue.code for issue in issues]


def test_speeds_two_percent_high_are_not_believed() -> None:
    """A constant error too small to see in any minute shows over the drive."""
    fixes, truth = drive(constant(25.0), 900.0, with_speed(SLOW))
    wrong = [dataclasses.replace(fix, speed_mps=(fix.speed_mps or 0.0) * 1.02) for fix in fixes]
    track, issues = Track.from_fixes(wrong)

    assert truth == pytest.approx(track.length_m, rel=2e-3)
    assert "2.0 % too high" in issues[0].message


def test_speeds_that_fail_for_a_while_are_replaced_for_that_while() -> None:
    """Three minutes of zero speed at 25 m/s go by position, and are told of."""
    fixes, truth = drive(constant(25.0), 900.0, with_speed(SLOW))
    failing = [dataclasses.replace(f, speed_mps=0.0) if 240 <= k < 420 else f for k, f in enumerate(fixes)]
    track, issues = Track.from_fixes(failing)

    assert truth == pytest.approx(track.length_m, rel=2e-3)
    assert "in 3 minute(s)" in issues[0].message


def test_a_gap_is_a_straight_line() -> None:
    """A minute without fixes at 25 m/s on a wide loop loses nothing to speak of."""
    fixes, truth = drive(constant(25.0), 900.0, with_speed(SLOW))
    track, issues = Track.from_fixes(fixes[:300] + fixes[360:])

    assert truth == pytest.approx(track.length_m, rel=2e-3)
    assert ["track_gap"] == [issue.code for issue in issues]


def test_impossible_speeds_are_no_speeds() -> None:
    """Negative speeds, as phones write for not known, leave the distance to the positions."""
    fixes, truth = drive(constant(25.0), 600.0, SLOW)
    track, issues = Track.from_fixes([dataclasses.replace(fix, speed_mps=-1.0) for fix in fixes])

    assert truth == pytest.approx(track.length_m, rel=2e-3)
    assert () == issues


@pytest.mark.parametrize("speeds", [constant(31.0), stop_and_go(20.0, 100.0, 40.0)])
def test_distance_is_right_all_along(speeds: Speeds) -> None:
    """Not only the end: at every minute the distance is within 25 m and 0.2 % of the truth."""
    fixes, _ = drive(speeds, 1800.0, WHITE)
    true_fixes, _ = drive(speeds, 1800.0, QUIET)
    track, _ = Track.from_fixes(fixes)
    truth, _ = Track.from_fixes(true_fixes)
    for minute in range(30):
        place, true_place = (t.at(fixes[0].utc_ns + minute * 60 * NANO) for t in (track, truth))
        assert place is not None
        assert true_place is not None
        assert true_place.distance_m == pytest.approx(place.distance_m, rel=2e-3, abs=25.0)
