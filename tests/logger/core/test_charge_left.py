"""How far the charge goes, worked out by hand, and between which bounds."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.core.charge_left import ChargeAt, charge_left, charges_since_charging, matters
from logger.model import Drive, Entry, Origin, Place, Status

S = 1_000_000_000
DRIVE = Drive(1_900_000_000 * S, "")


def place_at(utc_ns: int) -> Place | None:
    """20 m/s since the drive began; nobody measures before."""
    seconds = (utc_ns - DRIVE.began_utc_ns) / S
    return Place(52.0, 1.7, seconds * 20.0, 20.0, 0.0) if seconds >= 0 else None


def entry(
    at_s: float, quantity: str, value: str | None, note: str = "", status: Status = Status.ACCEPTED
) -> Entry:
    """An entry of a drive."""
    number = None if value is None else Decimal(value)
    return Entry(
        f"{at_s}", 1, round(at_s * S), quantity, number, "%", status, 0.9, Origin.HEARD, "", note, ""
    )


def test_by_hand() -> None:
    """40 km on 20 of 80 points, 4 km since: 120 - 4 likely; 40 / 21 x 59.5 - 4 = 109.33; 40 / 19 x 61 - 4 = 124.42."""
    left = charge_left(ChargeAt(80.0, 1000.0), ChargeAt(60.0, 41_000.0), 45_000.0)

    assert left is not None
    assert (4000.0, 200_000.0, 116_000.0) == (left.since_m, left.range_m, left.likely_m)
    assert pytest.approx(109_333.33) == left.least_m
    assert pytest.approx(124_421.05) == left.most_m
    assert pytest.approx(1904.7619) == left.least_m_a_point


def test_never_below_empty() -> None:
    """At 1 % after 99 points on 99 km, 3 km on: nothing is left by any figure, and nothing less than that."""
    left = charge_left(ChargeAt(100.0, 0.0), ChargeAt(1.0, 99_000.0), 102_000.0)

    assert left is not None
    assert (0.0, 0.0, 0.0) == (left.likely_m, left.least_m, left.most_m)


@pytest.mark.parametrize(
    ("newest", "distance_m"), [(78.0, 40_000.0), (60.0, 999.0), (80.0, 40_000.0), (85.0, 40_000.0)]
)
def test_too_little_to_say(newest: float, distance_m: float) -> None:
    """Two points, under a kilometre, none, and risen."""
    assert charge_left(ChargeAt(80.0, 0.0), ChargeAt(newest, distance_m), distance_m) is None


@given(
    points_a_km=st.floats(0.05, 2.0),
    begin=st.floats(50.0, 100.0),
    driven_km=st.floats(1.0, 500.0),
    since_km=st.floats(0.0, 5.0),
    nearest=st.booleans(),
)
def test_a_steady_car_is_within_the_bounds(
    points_a_km: float, begin: float, driven_km: float, since_km: float, *, nearest: bool
) -> None:
    """Whichever way the dash rounds, the truth of a car that uses the same all along lies between least and most."""
    end = begin - points_a_km * driven_km
    shown = [math.floor(true + (0.5 if nearest else 0.0)) for true in (begin, end)]
    left = charge_left(
        ChargeAt(shown[0], 0.0), ChargeAt(shown[1], driven_km * 1000.0), (driven_km + since_km) * 1000.0
    )
    truth_m = (end / points_a_km - since_km) * 1000.0
    if left is not None and truth_m >= 0.0:
        assert left.least_m - 1e-3 <= truth_m <= left.most_m + 1e-3
        assert left.least_m <= left.likely_m <= left.most_m


@given(
    first=st.integers(20, 100),
    newest=st.integers(1, 90),
    more=st.integers(1, 10),
    driven_m=st.floats(1000.0, 5e5),
    since_m=st.floats(0.0, 5e4),
)
def test_more_charge_goes_farther(
    first: int, newest: int, more: int, driven_m: float, since_m: float
) -> None:
    """A newest reading that is higher never brings less, nor does a dash that shows more all along."""
    now_m = driven_m + since_m
    one = charge_left(ChargeAt(first, 0.0), ChargeAt(newest, driven_m), now_m)
    higher = charge_left(ChargeAt(first, 0.0), ChargeAt(newest + more, driven_m), now_m)
    both = charge_left(ChargeAt(first + more, 0.0), ChargeAt(newest + more, driven_m), now_m)

    if one is not None and higher is not None:
        assert one.least_m <= higher.least_m
    if one is not None:
        assert both is not None
        assert one.least_m <= both.least_m


def test_what_counts_of_a_drive() -> None:
    """Accepted and corrected charges with a place, in the order of the drive, since the last charging that stands."""
    entries = [
        entry(2200, "charge", "75", status=Status.CORRECTED),
        entry(0, "charge", "50"),
        entry(1000, "charge", "40"),
        entry(1100, "note", None, "charging"),
        entry(1150, "note", None, "headwind"),
        entry(1200, "charge", "80"),
        entry(1300, "note", None, "unplugged", status=Status.REJECTED),
        entry(1400, "charge", "11", status=Status.FLAGGED),
        entry(1500, "trip", "12"),
        entry(-10, "charge", "99"),
    ]

    assert (ChargeAt(80.0, 24_000.0), ChargeAt(75.0, 44_000.0)) == charges_since_charging(
        entries, DRIVE, place_at
    )
    assert {"charge", "charging", "unplugged"} == {
        each.note or each.quantity for each in entries if matters(each)
    }
