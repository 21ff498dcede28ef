"""The car's own instruments beside GPS; mean, spread and Student's interval by hand and by scipy."""

from __future__ import annotations

import numpy as np
import pytest
from read_drives import SPEED_KMH, seen, straight_track
from scipy import stats

from logger.core.results.basis import basis_of
from logger.core.results.figures import Absent, Figure
from logger.core.results.meters import section


def test_the_speedometer() -> None:
    """102, 103, 104 and 103 km/h shown at 100: 3 km/h too much on average, with scipy's t interval."""
    shown = [102, 103, 104, 103]
    drive = seen(
        [(10.0 * n + 5.0, "indicated_speed", str(each), "km/h") for n, each in enumerate(shown)],
        track=straight_track(60.0),
    )
    told = section(basis_of(drive))
    error, spread, share = (told.answer(f"speedometer_{key}") for key in ("error", "spread", "share"))
    low, high = stats.t.interval(0.95, 3, 3.0, stats.sem(shown))

    assert isinstance(error, Figure)
    assert (pytest.approx(3.0), pytest.approx(low, rel=0.01), pytest.approx(high, rel=0.01)) == (
        error.value,
        error.low,
        error.high,
    )
    assert isinstance(spread, Figure)
    assert pytest.approx(float(np.std(shown, ddof=1))) == spread.value
    assert isinstance(share, Figure)
    assert pytest.approx(3.0 / SPEED_KMH * 100.0) == share.value


def test_one_reading() -> None:
    """One reading has an error and no spread."""
    told = section(basis_of(seen([(5.0, "indicated_speed", "103", "km/h")], track=straight_track(60.0))))

    assert Figure(pytest.approx(3.0), "km/h", remark="From one reading.") == told.answer("speedometer_error")
    assert isinstance(told.answer("speedometer_spread"), Absent)


@pytest.mark.parametrize(
    ("track", "said", "why"), [(True, False, "not read off"), (False, True, "no GPS speed")]
)
def test_no_speedometer(track: bool, said: bool, why: str) -> None:  # noqa: FBT001
    """Not read off, or no GPS to compare with."""
    rows = [(5.0, "indicated_speed", "103", "km/h")] if said else []
    told = section(basis_of(seen(rows, track=straight_track(60.0) if track else None))).answer(
        "speedometer_error"
    )

    assert isinstance(told, Absent)
    assert why in told.why


def test_factors() -> None:
    """Factors of trip meter and odometer with their intervals; the odometer's whole kilometres make it coarser."""
    rows = [(float(km), "trip", f"{km * 0.985:.1f}", "km") for km in range(0, 200, 10)]
    rows += [(float(km), "odometer", str(int(5000 + km * 0.985)), "km") for km in range(0, 200, 10)]
    told = section(basis_of(seen(rows, track=straight_track(200.0))))
    trip, odometer = told.answer("trip_factor"), told.answer("odometer_factor")

    for each in (trip, odometer):
        assert isinstance(each, Figure)
        assert each.low is not None
        assert each.high is not None
        assert each.low <= 0.985 <= each.high
    assert isinstance(trip, Figure)
    assert isinstance(odometer, Figure)
    assert (trip.high or 0.0) - trip.value < (odometer.high or 0.0) - odometer.value
