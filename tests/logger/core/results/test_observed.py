"""What results start from: the readings that count, in base units, with the step of their last digit."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from read_drives import BEGAN_NS, entry, seen, straight_track

from logger.core.results.observed import BASE_UNITS, observed, reading_of
from logger.core.track import Track
from logger.model import Drive, Status


def test_only_what_counts() -> None:
    """Accepted and corrected entries are readings; flagged ones are doubts, rejected ones nothing."""
    entries = [
        entry(1, 1.0, "charge", "99", "%"),
        entry(2, 2.0, "charge", "98", "%", status=Status.CORRECTED),
        entry(3, 3.0, "charge", "79", "%", status=Status.FLAGGED),
        entry(4, 4.0, "charge", "9", "%", status=Status.REJECTED),
        entry(5, 5.0, "unheard", ""),
        entry(6, 6.0, "note", "headwind"),
    ]
    told = observed(Drive(BEGAN_NS, ""), reversed(entries), None, test={}, way=None, distances="km")

    assert [99.0, 98.0] == [each.value for each in told.of("charge")]
    assert ["3-1"] == [each.id for each in told.doubts]
    assert ["headwind"] == [each.text for each in told.notes]
    assert () == told.of("trip")


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "base", "step"),
    [
        ("trip", "100.0", "mi", 160.9344, 0.1609344),  # the mile of NIST SP 811, B.6
        ("charge", "63", "%", 63.0, 1.0),
        ("charge", "63.5", "%", 63.5, 0.1),
        ("efficiency", "15.0", "kWh/100km", 150.0, 1.0),
        ("outside_temperature", "50", "degF", 10.0, 5.0 / 9.0),  # NIST SP 811, B.8
        ("indicated_speed", "70", "mph", 112.65408, 1.609344),
    ],
)
def test_base_units(quantity: str, value: str, unit: str, base: float, step: float) -> None:
    """Values and the worth of their last digit are in the base unit of the quantity."""
    reading = reading_of(entry(1, 1.0, quantity, value, unit), None)

    assert reading is not None
    assert (pytest.approx(base), pytest.approx(step)) == (reading.value, reading.step)
    assert (Decimal(value), unit) == (reading.said, reading.unit)


@pytest.mark.parametrize(
    ("quantity", "value", "unit"),
    [
        ("charge", "", "%"),
        ("charge", "NaN", "%"),
        ("efficiency", "0", "km/kWh"),
        ("trip", "3", "kWh"),
        ("boost", "1", "bar"),
    ],
)
def test_what_has_no_value_is_no_reading(quantity: str, value: str, unit: str) -> None:
    """No value, no number, the reciprocal of 0, another kind's unit, and a quantity nobody computes with."""
    assert reading_of(entry(1, 1.0, quantity, value, unit), None) is None


def test_places() -> None:
    """A reading knows how far the car had driven by GPS; outside the track, and where the distance is no number, it does not."""
    track = straight_track(10.0)
    told = seen([(5.0, "charge", "99", "%"), (50.0, "charge", "90", "%")], track=track)

    assert [pytest.approx(5.0, abs=0.03), None] == [each.gps_km for each in told.of("charge")]
    broken = Track(
        track.utc_ns,
        track.lat_deg,
        track.lon_deg,
        track.altitude_m,
        track.speed_mps,
        track.distance_m * np.nan,
    )
    assert [None] == [each.gps_km for each in seen([(5.0, "charge", "99", "%")], track=broken).of("charge")]


def test_seconds() -> None:
    """Instants are seconds since the drive began."""
    assert 2.5 == seen([]).seconds(BEGAN_NS + 2_500_000_000)
    assert {"charge", "trip", "odometer"} <= set(BASE_UNITS)
