"""A stored drive's log as a table, with and without a track."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from heard import Counting, Remembering
from short_drives import STARTED, ShortDrive

from logger.core.utc import parse_utc_ns
from logger.wiring.ingest import ingest
from logger.wiring.log_table import Form, log_table


@pytest.fixture(scope="module")
def folder(short_drive: ShortDrive, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive without a track."""
    folder = tmp_path_factory.mktemp("drives") / "drive"
    ingest(
        folder,
        (short_drive.sound,),
        (),
        started_utc_ns=(parse_utc_ns(STARTED),),
        sheet_path=None,
        choose=Counting().choose,
        listener=Remembering(),
    )
    return folder


def test_without_a_track_there_is_no_place(folder: Path) -> None:
    """Every row has a time, and none a place."""
    table = log_table(folder)

    assert 13 == len(table.rows)
    assert {None} == {*table.column("lat_deg"), *table.column("gps_distance_km")}
    assert None not in table.column("at")


def test_evidence_names_the_sound_and_who_heard_it(folder: Path) -> None:
    """With everything asked for, each row names the recogniser and a clip that is there."""
    table = log_table(folder, Form(everything=True))

    assert {"typed"} == set(table.column("recogniser"))
    assert all((folder / str(clip)).is_file() for clip in table.column("clip"))


def test_a_lost_clip_is_not_named(folder: Path, tmp_path: Path) -> None:
    """A clip that is no longer there is left empty, not claimed."""
    copy = Path(shutil.copytree(folder, tmp_path / "copy"))
    shutil.rmtree(copy / "clips")

    assert {None} == set(log_table(copy, Form(everything=True)).column("clip"))


def test_units_and_width(folder: Path) -> None:
    """Wide rows are one for each call, in the unit asked for; evidence has no place there."""
    wide = log_table(folder, Form(wide=True, distances="mi"))

    assert 7 == len(wide.rows)
    assert "trip_mi" in [column.name for column in wide.columns]
    with pytest.raises(ValueError, match="no place for evidence"):
        log_table(folder, Form(wide=True, everything=True))
