"""`odovox log`: formats, where they go, and what does not go together."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyarrow.parquet
import pytest
import soundfile
from click.testing import Result

from logger.store import DriveStore
from logger.wiring.log_table import track_of


@pytest.fixture
def short_sound(tmp_path: Path) -> Path:
    """A second in which nobody speaks."""
    path = tmp_path / "quiet.wav"
    soundfile.write(path, np.zeros(16_000, dtype=np.int16), 16_000)
    return path


def test_elsewhere_than_on_a_terminal_it_is_csv(invoke: Callable[..., Result], folder: Path) -> None:
    """Without a format a pipe gets CSV (read by Python's csv), with CRLF as in RFC 4180."""
    result = invoke("log", folder)

    assert 0 == result.exit_code
    assert "" == result.stderr
    rows = list(csv.DictReader(io.StringIO(result.stdout_bytes.decode(), newline="")))
    assert ["charge", "trip", "charge", "trip", "note"] == [row["quantity"] for row in rows]
    assert result.stdout_bytes.endswith(b"\r\n")


def test_on_a_terminal_it_is_a_table(
    invoke: Callable[..., Result], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a format a terminal gets the table for people; Parquet is refused there, but goes to a file."""
    monkeypatch.setattr("click.testing._NamedTextIOWrapper.isatty", lambda _: True, raising=False)

    assert invoke("log", folder).stdout.startswith("entry ")
    refused = invoke("log", folder, "--format", "parquet")
    assert 2 == refused.exit_code
    assert "-o FILE" in refused.stderr
    assert 0 == invoke("log", folder, "--format", "parquet", "-o", folder.parent / "log.parquet").exit_code
    assert 5 == pyarrow.parquet.read_table(folder.parent / "log.parquet").num_rows


def test_units_and_width(invoke: Callable[..., Result], folder: Path) -> None:
    """42.1 km is 26.16 mi (1.609344 km to a mile, NIST SP 811): 42.1 / 1.609344 = 26.1597."""
    rows = [
        json.loads(line)
        for line in invoke("log", folder, "--format", "jsonl", "--wide", "--units", "mi").stdout.splitlines()
    ]

    assert 26.16 == rows[0]["trip_mi"]
    assert [1, 2, 3] == [row["checkpoint"] for row in rows]


def test_wide_and_all_do_not_go_together(invoke: Callable[..., Result], folder: Path) -> None:
    """One row per checkpoint has no place for evidence."""
    assert 2 == invoke("log", folder, "--wide", "--all").exit_code


def test_a_track_is_not_wide(invoke: Callable[..., Result], folder: Path) -> None:
    """GPX and GeoJSON have a point for each checkpoint, so options about rows are refused; no track, nothing to draw."""
    for form in ("gpx", "geojson"):
        for option in ("--wide", "--all"):
            refused = invoke("log", folder, "--format", form, option)
            assert 2 == refused.exit_code
            assert f"leave {option} out" in refused.stderr
        bare = invoke("log", folder, "--format", form)
        assert (2, "") == (bare.exit_code, bare.stdout)
        assert "has no track" in bare.stderr


def test_tracks_go_out(invoke: Callable[..., Result], doubtful: Path, tmp_path: Path) -> None:
    """GPX to standard output, GeoJSON to a file, with distances as asked for."""
    assert invoke("log", doubtful, "--format", "gpx").stdout.startswith("<?xml")
    done = invoke("log", doubtful, "--format", "geojson", "--units", "mi", "-o", tmp_path / "drive.geojson")
    assert (0, "") == (done.exit_code, done.stderr)
    features = json.loads((tmp_path / "drive.geojson").read_text("utf-8"))["features"]
    assert 26.16 == features[1]["properties"]["trip_mi"]


def test_several_drives_are_one_stream(invoke: Callable[..., Result], folder: Path, doubtful: Path) -> None:
    """The first column tells the drive, made unique; every row of both is there, in the order given."""
    alone = [invoke("log", each).stdout.splitlines()[1:] for each in (folder, doubtful)]
    result = invoke("log", folder, doubtful)

    assert 0 == result.exit_code
    header, *lines = result.stdout.splitlines()
    assert header.startswith("drive,entry_id,")
    assert [f"drive,{line}" for line in alone[0]] + [f"drive-2,{line}" for line in alone[1]] == lines


def test_wide_logs_of_several_have_the_same_columns(
    invoke: Callable[..., Result], folder: Path, doubtful: Path
) -> None:
    """All quantities, each in one unit; without --units nobody knows in which."""
    refused = invoke("log", folder, doubtful, "--wide")
    assert 2 == refused.exit_code
    assert "needs --units" in refused.stderr
    rows = [
        json.loads(line)
        for line in invoke(
            "log", folder, doubtful, "--wide", "--units", "mi", "--format", "jsonl"
        ).stdout.splitlines()
    ]
    assert 1 == len({tuple(row) for row in rows})
    assert {"charge_pct", "trip_mi", "range_left_mi", "outside_temperature_degf", "clock_min"} <= set(rows[0])
    assert [26.16] * 2 == [row["trip_mi"] for row in rows if row["checkpoint"] == 1]


def test_one_broken_drive_stops_no_other(
    invoke: Callable[..., Result], folder: Path, doubtful: Path, tmp_path: Path
) -> None:
    """It is named in one line, the others are written, and the exit code is 1; nothing but broken ones is 2."""
    result = invoke("log", folder, tmp_path / "gone", doubtful)

    assert 1 == result.exit_code
    assert 1 == len(result.stderr.splitlines())
    assert "gone does not exist" in result.stderr
    assert {"drive", "drive-2"} == {line.split(",")[0] for line in result.stdout.splitlines()[1:]}
    assert 2 == invoke("log", tmp_path / "gone", tmp_path / "lost").exit_code


def test_several_drives_make_a_data_set(
    invoke: Callable[..., Result], folder: Path, doubtful: Path, tmp_path: Path
) -> None:
    """A folder with a part for each drive; run again it stays the same, and one drive with a slash goes in beside them."""
    for _ in range(2):
        assert 0 == invoke("log", folder, doubtful, "--format", "parquet", "-o", tmp_path / "logs").exit_code
    other = Path(shutil.copytree(folder, tmp_path / "other"))
    assert 0 == invoke("log", other, "--format", "parquet", "-o", f"{tmp_path / 'logs'}/").exit_code

    found = pyarrow.parquet.read_table(tmp_path / "logs").to_pandas()
    rows = {
        drive: len(invoke("log", each).stdout.splitlines()) - 1
        for drive, each in (("drive", folder), ("drive-2", doubtful), ("other", other))
    }
    assert rows == found.groupby("drive", observed=True).size().to_dict()


def test_what_does_not_go_for_several(invoke: Callable[..., Result], folder: Path, doubtful: Path) -> None:
    """No table for people, and no data set on standard output."""
    assert "shows one drive" in invoke("log", folder, doubtful, "--format", "table").stderr
    assert "-o FOLDER" in invoke("log", folder, doubtful, "--format", "parquet").stderr


def test_a_folder_of_drives(invoke: Callable[..., Result], folder: Path, tmp_path: Path) -> None:
    """It stands for the drives in it, one or many, so even one has its name in front."""
    shutil.copytree(folder, tmp_path / "drives" / "first")

    assert {"first"} == {
        line.split(",")[0] for line in invoke("log", tmp_path / "drives").stdout.splitlines()[1:]
    }


def test_out_and_in_again(
    invoke: Callable[..., Result], doubtful: Path, short_sound: Path, tmp_path: Path
) -> None:
    """The track of a drive, written as GPX and taken in with `odovox ingest --track`, gives the very positions."""
    assert 0 == invoke("log", doubtful, "--format", "gpx", "-o", tmp_path / "out.gpx").exit_code
    taken = invoke("ingest", short_sound, "--track", tmp_path / "out.gpx", "--out", tmp_path / "again")
    assert taken.exit_code in {0, 1}

    kept, again = (track_of(DriveStore.open(each, readonly=True)) for each in (doubtful, tmp_path / "again"))
    assert kept is not None
    assert again is not None
    for column in ("utc_ns", "lat_deg", "lon_deg", "distance_m", "altitude_m", "speed_mps"):
        assert getattr(kept, column).tolist() == getattr(again, column).tolist()
