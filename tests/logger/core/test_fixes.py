"""Cleaning: order, repeated times, and positions where no car can have been."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from simulated_drives import Noise, constant, drive

from logger.core.fixes import cleaned
from logger.model import Fix

NANO = 1_000_000_000
DEGREES_PER_M = 1.0 / 111_132.0  # northward at 45 degrees, near enough


def straight(count: int, speed_mps: float = 25.0) -> list[Fix]:
    """A drive due north, a fix a second."""
    return [Fix(k * NANO, 45.0 + k * speed_mps * DEGREES_PER_M, 13.0) for k in range(count)]


def moved(fix: Fix, metres: float) -> Fix:
    """The fix, displaced northward."""
    return Fix(fix.utc_ns, fix.lat_deg + metres * DEGREES_PER_M, fix.lon_deg)


def codes(fixes: list[Fix]) -> list[str]:
    """The codes of the issues that cleaning gives."""
    return [issue.code for issue in cleaned(fixes)[1]]


def test_a_sound_drive_is_left_alone() -> None:
    """Nothing is left out of a plain drive, and nothing said."""
    fixes = straight(50)

    assert (tuple(fixes), ()) == cleaned(fixes)


def test_out_of_order_fixes_are_sorted_and_counted() -> None:
    """Two late fixes are put where they belong, and counted."""
    fixes = straight(10)
    mixed = [*fixes[:3], *fixes[5:], *fixes[3:5]]
    kept, issues = cleaned(mixed)

    assert tuple(fixes) == kept
    assert ["2 fixes were out of order in time; sorted"] == [issue.message for issue in issues]


def test_exact_copies_are_dropped_as_such() -> None:
    """A file appended to itself gives the drive once."""
    fixes = straight(10)
    kept, issues = cleaned(fixes + fixes)

    assert tuple(fixes) == kept
    assert "10 fixes are exact copies of others; left out" in [issue.message for issue in issues]


def test_of_one_time_the_fix_that_knows_most_is_kept() -> None:
    """Two fixes of one time: the one with speed stays, whichever came first."""
    fixes = straight(5)
    full = Fix(fixes[2].utc_ns, fixes[2].lat_deg, fixes[2].lon_deg, speed_mps=25.0)
    for order in ([*fixes, full], [full, *fixes]):
        kept, issues = cleaned(order)

        assert full == kept[2]
        assert len(fixes) == len(kept)
        assert "track_repeated_time" in [issue.code for issue in issues]


@pytest.mark.parametrize("place", [0, 1, 25, 48, 49])
@pytest.mark.parametrize("metres", [300.0, 5_000.0, 2_000_000.0])
def test_one_stray_fix_is_left_out_alone(place: int, metres: float) -> None:
    """A fix far off, at the start, the end or between, goes; every other stays."""
    fixes = straight(50)
    stray = [*fixes[:place], moved(fixes[place], metres), *fixes[place + 1 :]]
    kept, issues = cleaned(stray)

    assert tuple(fixes[:place] + fixes[place + 1 :]) == kept
    assert ["track_leap"] == [issue.code for issue in issues]
    assert "1 fix lies" in issues[0].message


def test_a_spike_that_a_car_could_just_reach_is_left_out() -> None:
    """80 m off for one second is no leap by speed, but no car turns like that."""
    fixes = straight(50)
    fixes[20] = Fix(fixes[20].utc_ns, fixes[20].lat_deg, fixes[20].lon_deg + 80.0 * DEGREES_PER_M / 0.707)

    assert ["track_leap"] == codes(fixes)
    assert 49 == len(cleaned(fixes)[0])


def test_a_few_stray_fixes_together_are_left_out() -> None:
    """Five fixes that agree with each other but with nothing before or after go."""
    fixes = straight(60)
    stray = fixes[:20] + [moved(fix, 9_000.0) for fix in fixes[20:25]] + fixes[25:]

    assert tuple(fixes[:20] + fixes[25:]) == cleaned(stray)[0]


def test_a_long_way_in_a_long_gap_is_kept() -> None:
    """9 km in five minutes without a fix is a tunnel, not a leap."""
    fixes = straight(400)
    tunnel = fixes[:30] + fixes[330:]

    assert (tuple(tunnel), ()) == cleaned(tunnel)


def test_two_long_runs_with_a_jump_between_are_both_kept() -> None:
    """When the whole rest of the drive lies elsewhere, nothing is thrown away."""
    fixes = straight(60)
    jump = fixes[:30] + [moved(fix, 50_000.0) for fix in fixes[30:]]

    assert (tuple(jump), ()) == cleaned(jump)


def test_hard_braking_and_turning_are_no_spikes() -> None:
    """Full braking from 30 m/s, and a bend at 8 m/s^2, leave every fix in."""
    positions = [0.0]
    for k in range(20):
        positions.append(positions[-1] + max(0.0, 30.0 - 9.0 * max(0, k - 10)))
    braking = [Fix(k * NANO, 45.0 + along * DEGREES_PER_M, 13.0) for k, along in enumerate(positions)]

    assert () == cleaned(braking)[1]


def test_a_corner_between_slow_fixes_is_no_spike() -> None:
    """With a fix every 5 s, a right-angled corner at 15 m/s puts one fix 53 m off the line; the car was there."""
    side_m = 75.0
    corner = [(k * side_m, 0.0) for k in range(6)] + [(5 * side_m, k * side_m) for k in range(1, 6)]
    fixes = [
        Fix(5 * k * NANO, 45.0 + up * DEGREES_PER_M, 13.0 + right * DEGREES_PER_M / 0.7071)
        for k, (up, right) in enumerate(corner)
    ]

    assert (tuple(fixes), ()) == cleaned(fixes)


def test_ordinary_noise_is_no_spike() -> None:
    """White noise of 3 m on an hour's drive leaves every fix in."""
    fixes, _ = drive(constant(25.0), 3600.0, Noise(white_m=3.0))

    assert (tuple(fixes), ()) == cleaned(fixes)


@pytest.mark.parametrize("lat_lon", [(91.0, 0.0), (0.0, 181.0), (float("nan"), 0.0), (0.0, float("inf"))])
def test_positions_off_the_earth_are_left_out(lat_lon: tuple[float, float]) -> None:
    """Coordinates out of range or no number are counted and dropped."""
    fixes = [*straight(5), Fix(9 * NANO, *lat_lon)]
    kept, issues = cleaned(fixes)

    assert 5 == len(kept)
    assert ["track_bad_position"] == [issue.code for issue in issues]


@pytest.mark.parametrize("utc_ns", [2**62, -(2**62), 10**30])
def test_dates_that_cannot_be_are_left_out(utc_ns: int) -> None:
    """The year 9999, or one that no 64-bit number of nanoseconds can hold, costs its fix only."""
    kept, issues = cleaned([*straight(5), Fix(utc_ns, 45.0, 13.0)])

    assert 5 == len(kept)
    assert ["1 fix has a date that cannot be; left out"] == [issue.message for issue in issues]


def test_nothing_gives_nothing() -> None:
    """No fixes, no issues."""
    assert ((), ()) == cleaned([])


def test_a_file_of_nothing_but_leaps_is_done_in_time() -> None:
    """20 000 fixes at random places on Earth, each a leap from the last, are handled without a quadratic wait."""
    rng = random.Random(3)
    fixes = [Fix(k * NANO, rng.uniform(-60.0, 60.0), rng.uniform(-180.0, 180.0)) for k in range(20_000)]

    assert cleaned(fixes)[0]


@given(st.permutations(list(range(12))))
def test_order_does_not_matter(order: list[int]) -> None:
    """The same fixes in any order, with a stray and a repeated time among them, clean to the same drive."""
    fixes = straight(10)
    fixes[4] = moved(fixes[4], 4_000.0)
    fixes += [moved(fixes[7], 2.0), Fix(fixes[2].utc_ns, fixes[2].lat_deg, fixes[2].lon_deg, hdop=0.9)]

    assert cleaned(fixes)[0] == cleaned([fixes[k] for k in order])[0]


def one_by_one(fixes: list[Fix]) -> tuple[list[Fix], int, int]:
    """The rules about order and repeated times, applied to one fix after the other: what stays, copies, repeats."""

    def key(fix: Fix) -> tuple[float, ...]:
        rest = (fix.altitude_m, fix.speed_mps, fix.hdop)
        known = tuple(math.inf if value is None else value for value in rest)
        return (fix.utc_ns, sum(value is None for value in rest), known[2], fix.lat_deg, fix.lon_deg, *known)

    kept: list[Fix] = []
    copies = repeats = 0
    for fix in sorted(fixes, key=key):
        if not kept or fix.utc_ns != kept[-1].utc_ns:
            kept.append(fix)
        elif fix == kept[-1]:
            copies += 1
        else:
            repeats += 1
    return kept, copies, repeats


SOMETIMES = st.none() | st.sampled_from([0.0, -0.0, 1.0, 2.5])
STANDING = st.builds(
    Fix,
    st.integers(0, 9).map(lambda second: second * NANO),
    st.sampled_from([45.0, 45.00001]),
    st.sampled_from([13.0, 13.00001]),
    SOMETIMES,
    SOMETIMES,
    SOMETIMES,
)


@given(st.lists(STANDING, max_size=20))
def test_columns_give_what_one_fix_after_the_other_gives(fixes: list[Fix]) -> None:
    """Whichever way it is computed, the very same fixes stay, and as many are called copies and repeats."""
    kept, issues = cleaned(fixes)
    expected, copies, repeats = one_by_one(fixes)
    told = {issue.code: int(issue.message.split()[0]) for issue in issues}

    assert [repr(fix) for fix in expected] == [repr(fix) for fix in kept]
    assert (copies, repeats) == (told.get("track_duplicate", 0), told.get("track_repeated_time", 0))
