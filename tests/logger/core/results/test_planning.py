"""Figures for planning a trip, worked out by hand. 80 to 10 % is 70 % of the range (check-values.md section 10, common practice)."""

from __future__ import annotations

import pytest
from read_drives import SPEED_KMH, charges, seen, straight_track

from logger.core.results.basis import basis_of
from logger.core.results.figures import Absent, Figure
from logger.core.results.planning import section

DOWN = charges(4.0, range(100, -1, -1))


def test_as_driven() -> None:
    """70 points of 4 km, and 2.8 hours of it at 100 km/h; the last ten are 40 km."""
    told = section(
        basis_of(seen(DOWN, track=straight_track(420.0), test={"target_gps_speed_kmh": SPEED_KMH}))
    )
    leg, time, reserve = (told.answer(key) for key in ("eighty_to_ten", "eighty_to_ten_time", "reserve"))

    assert isinstance(leg, Figure)
    assert pytest.approx(280.0, rel=0.005) == leg.value
    assert not leg.estimate
    assert isinstance(time, Figure)
    assert pytest.approx(2.8 * 3600.0, rel=0.005) == time.value
    assert isinstance(reserve, Figure)
    assert pytest.approx(40.0, rel=0.02) == reserve.value
    whole = told.answer("full_to_reserve")
    assert isinstance(whole, Figure)
    assert pytest.approx(358.0, rel=0.01) == whole.value


def test_projected() -> None:
    """Read down to 40 % only, it is a projection, with a wider interval."""
    driven = section(basis_of(seen(DOWN, track=straight_track(420.0)))).answer("eighty_to_ten")
    early = section(basis_of(seen(DOWN[:61], track=straight_track(250.0)))).answer("eighty_to_ten")

    assert isinstance(driven, Figure)
    assert isinstance(early, Figure)
    assert early.estimate
    assert "from 100 % to 40 %" in early.remark
    assert pytest.approx(280.0, rel=0.02) == early.value
    assert (early.high or 0.0) - early.value > (driven.high or 0.0) - driven.value


def test_the_speed_of_the_track() -> None:
    """Without a target the test speed is the median of GPS, and that is said; without either there is no time."""
    told = section(basis_of(seen(DOWN, track=straight_track(420.0))))
    nothing = section(basis_of(seen(DOWN)))

    assert Figure(pytest.approx(SPEED_KMH), "km/h") == told.answer("test_speed")
    assert "median" in told.remarks[0]
    assert isinstance(nothing.answer("test_speed"), Absent)
    assert isinstance(nothing.answer("eighty_to_ten_time"), Absent)


def test_too_little_of_a_battery() -> None:
    """A drive from 40 to 20 % says nothing of 80."""
    drive = seen(charges(4.0, range(40, 19, -1), first=40), track=straight_track(90.0))

    assert isinstance(section(basis_of(drive)).answer("eighty_to_ten"), Absent)
