"""Start against end."""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import Geod
from simulated_drives import Noise, constant, drive
from tracked_drives import out_and_back, seen_of, straight

from logger.core.results.closure import closure
from logger.core.results.figures import Absent, Figure
from logger.core.results.observed import Observed
from logger.core.way import Way
from logger.model import Fix

LAP_M = 2 * np.pi * 18_000.0


def figure(seen: Observed, key: str) -> Figure:
    """The figure, which there must be."""
    answer = closure(seen).answer(key)
    assert isinstance(answer, Figure)
    return answer


def test_a_lap_closes() -> None:
    """Round a circle of 113 km, 1 lap; farthest is its diameter."""
    fixes, _ = drive(constant(30.0), LAP_M / 30.0, Noise(2.0, 60.0, 0.4, 0.1), step_s=2.0)
    seen = seen_of(fixes, way=Way(LAP_M, 10.0))

    assert 1.0 == figure(seen, "closed").value
    assert pytest.approx(1.0, abs=0.005) == figure(seen, "laps").value
    assert pytest.approx(36.0, rel=0.005) == figure(seen, "farthest").value
    assert 100.0 > figure(seen, "gap").value


def test_out_and_back_closes() -> None:
    """No loop is told, so laps are none."""
    seen = seen_of(out_and_back(45.0, 30_000.0, 25.0), way=Way(None, 20.0))

    assert 1.0 == figure(seen, "closed").value
    answer = closure(seen).answer("laps")
    assert isinstance(answer, Absent)
    assert "[loop]" in answer.why


def test_an_open_way_does_not() -> None:
    """The gap is the geodesic of pyproj, with 14 m of two positions of 10 m."""
    fixes = straight(75.0, np.arange(0.0, 50_000.0, 25.0))
    found = figure(seen_of(fixes), "gap")
    _, _, theirs = Geod(ellps="WGS84").inv(
        fixes[0].lon_deg, fixes[0].lat_deg, fixes[-1].lon_deg, fixes[-1].lat_deg
    )

    assert pytest.approx(theirs, rel=1e-9) == found.value
    assert (pytest.approx(theirs - 14.142, abs=0.01), pytest.approx(theirs + 14.142, abs=0.01)) == (
        found.low,
        found.high,
    )
    closed = figure(seen_of(fixes), "closed")
    assert 0.0 == closed.value
    assert "do not cancel" in closed.remark


@pytest.mark.parametrize(("grade", "closed"), [(0.0, 1.0), (0.0004, 1.0), (0.001, 0.0)])
def test_the_heights_must_close_too(grade: float, closed: float) -> None:
    """60 km with 24 m or 60 m between start and end at the same place: a road over another, or a drifting receiver."""
    fixes = out_and_back(45.0, 30_000.0, 25.0)
    risen = [
        Fix(fix.utc_ns, fix.lat_deg, fix.lon_deg, altitude_m=100.0 + grade * 25.0 * number)
        for number, fix in enumerate(fixes)
    ]
    seen = seen_of(risen)

    assert pytest.approx(grade * 60_000.0, abs=1.5) == figure(seen, "altitude_difference").value
    assert closed == figure(seen, "closed").value


@pytest.mark.parametrize(
    ("fixes", "key", "why"),
    [
        (None, "gap", "no track"),
        (straight(0.0, [0.0]), "gap", "one fix"),
        (straight(0.0, range(0, 500, 25)), "closed", "never farther than 475 m"),
        (straight(0.0, range(0, 9_000, 25)), "altitude_difference", "no altitudes"),
    ],
)
def test_what_is_missing_is_said(fixes: list[Fix] | None, key: str, why: str) -> None:
    """Track, way or altitude."""
    answer = closure(seen_of(fixes)).answer(key)

    assert isinstance(answer, Absent)
    assert why in answer.why


def test_laps_that_were_called_out_are_told() -> None:
    """Beside the sum."""
    seen = seen_of(straight(0.0, range(0, 9_000, 25)), notes=[(9, "loop complete")], way=Way(3_000.0, 10.0))

    found = figure(seen, "laps")
    assert pytest.approx(3.0, abs=0.02) == found.value
    assert "1 times" in found.remark
