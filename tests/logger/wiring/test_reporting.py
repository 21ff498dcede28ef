"""Results of drives as they are stored: the sheet, the track and what is in doubt come from the folder."""

from __future__ import annotations

from pathlib import Path

import pytest
from called_drives import CalledDrive, charges
from reviewed_drives import doubtful_drive, store_called, straight_fixes

from logger.core.results.figures import Absent, Figure
from logger.core.results.whole import work_out
from logger.errors import OdovoxError
from logger.store import DriveStore
from logger.wiring.reporting import observed_in, observed_of

SHEET = """units = "metric"

[loop]
length = "20 km"

[test]
usable_kwh = 60
target_gps_speed_kmh = 90
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Eleven charges, one every 5 km, 2 points each, with a fix a second."""
    called = CalledDrive()
    charges(called, range(90, 68, -2))
    return store_called(
        tmp_path_factory.mktemp("drives") / "drive",
        called,
        fixes=straight_fixes(2100),
        clips=False,
        sheet=SHEET,
    )


def test_results_of_a_stored_drive(folder: Path) -> None:
    """2 points each 5 km are 24 kWh/100 km of 60 kWh, and 250 km on 100 points, within what rounding leaves open."""
    results = work_out(observed_of(folder))
    per_point = results.section("bands").answer("per_point")
    by_usable = results.section("energy").answer("by_usable")

    assert isinstance(per_point, Figure)
    assert pytest.approx(2.5, rel=0.02) == per_point.value
    assert isinstance(by_usable, Figure)
    assert pytest.approx(240.0, rel=0.02) == by_usable.value
    assert 90.0 == results.series.speed.target_kmh


def test_what_is_observed(folder: Path) -> None:
    """Readings, track, sheet and the sheet's way."""
    with DriveStore.open(folder, readonly=True) as store:
        seen = observed_in(store)

    assert 11 == len(seen.of("charge"))
    assert seen.track is not None
    assert seen.way is not None
    assert 20_000.0 == seen.way.lap_m
    assert ("km", 60) == (seen.distances, seen.test["usable_kwh"])


def test_doubts_are_named(tmp_path: Path) -> None:
    """Unsettled entries are named, and without a track the figures say what is missing."""
    results = work_out(observed_of(store_called(tmp_path / "drive", doubtful_drive(), clips=False)))

    assert results.doubts
    assert all(each.startswith("Entry ") for each in results.doubts)
    assert isinstance(results.section("range").answer("zero_by_gps"), Absent)


def test_no_drive(tmp_path: Path) -> None:
    """A folder without a drive is our own error."""
    with pytest.raises(OdovoxError):
        observed_of(tmp_path)
