"""`odovox log`: formats, where they go, and what does not go together."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pyarrow.parquet
import pytest
from click.testing import Result


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
