"""`odovox compare`: forms, where they go, and one broken drive among others."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pyarrow.parquet
import pytest
from click.testing import Result


@pytest.fixture
def drives(light_drives: Path, tmp_path: Path) -> Path:
    """A folder of three drives that may be changed."""
    return Path(shutil.copytree(light_drives, tmp_path / "drives"))


def test_elsewhere_than_on_a_terminal_it_is_csv(invoke: Callable[..., Result], drives: Path) -> None:
    """A row a drive, read by Python's csv, in the units of most dashes, or in those asked for."""
    result = invoke("compare", drives)
    rows = list(csv.DictReader(io.StringIO(result.stdout_bytes.decode(), newline="")))

    assert (0, "") == (result.exit_code, result.stderr)
    assert ["loop-000", "loop-001", "loop-002"] == [row["drive"] for row in rows]
    assert all(float(row["range_projected_low_km"]) < float(row["range_projected_km"]) for row in rows)
    (mile,) = csv.DictReader(io.StringIO(invoke("compare", drives / "loop-000", "--units", "mi").stdout))
    assert pytest.approx(float(rows[0]["driven_km"]) / 1.609344, abs=0.001) == float(mile["driven_mi"])


def test_on_a_terminal_it_is_a_table(
    invoke: Callable[..., Result], drives: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With what makes the drives not comparable in sentences below."""
    monkeypatch.setattr("click.testing._NamedTextIOWrapper.isatty", lambda _: True, raising=False)
    text = invoke("compare", drives).stdout

    assert text.startswith("drive ")
    assert "loop-002: the usable energy differs: 89.9 kWh here, 72.5 kWh with the others" in text
    assert 2 == invoke("compare", drives, "--format", "parquet").exit_code


def test_other_forms(invoke: Callable[..., Result], drives: Path, tmp_path: Path) -> None:
    """JSON is one object; Parquet has the columns of CSV; the html is taken from the name of the file."""
    told = json.loads(invoke("compare", drives, "--format", "json").stdout)
    assert ["loop-000", "loop-001", "loop-002"] == [each["drive"] for each in told["drives"]]
    assert 0 == invoke("compare", drives, "--format", "parquet", "-o", tmp_path / "all.parquet").exit_code
    assert 0 == invoke("compare", drives, "-o", tmp_path / "all.html").exit_code
    assert (tmp_path / "all.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    header = invoke("compare", drives).stdout.splitlines()[0].split(",")
    assert header == pyarrow.parquet.read_schema(tmp_path / "all.parquet").names


def test_one_broken_drive_stops_no_other(invoke: Callable[..., Result], drives: Path) -> None:
    """It is named in one line and the exit code is 1; nothing but broken ones is 2."""
    (drives / "loop-001" / "drive.sqlite").write_bytes(b"no database")
    result = invoke("compare", drives)

    assert 1 == result.exit_code
    assert 1 == len(result.stderr.splitlines())
    assert "loop-001" in result.stderr
    assert 3 == len(result.stdout.splitlines())
    assert 2 == invoke("compare", drives / "loop-001").exit_code
    assert 2 == invoke("compare", drives / "loop-001", drives / "gone").exit_code


def test_anew(invoke: Callable[..., Result], drives: Path) -> None:
    """Nothing is kept beside the drives when all is to be worked out again."""
    first = invoke("compare", drives, "--anew").stdout

    assert not list(drives.glob("*/results.json"))
    assert first == invoke("compare", drives).stdout == invoke("compare", drives).stdout
    assert 3 == len(list(drives.glob("*/results.json")))
