"""Stored drives as they go on a map."""

from __future__ import annotations

from pathlib import Path

import pytest

from logger.core.chart import checkpoints_of
from logger.errors import ExportError, OdovoxError
from logger.model import Drive
from logger.store import DriveStore
from logger.wiring.charting import charts_of


def test_a_drive_and_one_without_a_track(doubtful: Path, tmp_path: Path) -> None:
    """The track has all fixes and the checkpoints their places; a drive without a track is left out, or alone an error."""
    DriveStore.create(tmp_path / "bare", Drive(0, "")).close()
    told: list[OdovoxError] = []
    (chart,) = charts_of([doubtful, tmp_path / "bare"], told.append, distances="mi")

    assert (doubtful.name, 600) == (chart.name, len(chart.track.utc_ns))
    assert "trip 26.16 mi" in checkpoints_of(chart.checkpoints)[0].told
    assert all(each.place for each in checkpoints_of(chart.checkpoints))
    assert "has no track" in str(told[0])
    with pytest.raises(ExportError, match="odovox ingest --track"):
        list(charts_of([tmp_path / "bare"], told.append))
