"""docs/formats.md says what the program does: every column, file and table of the store is in it."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from logger.cli.log import FORMATS
from logger.core.columns import DRIVE, EVIDENCE, LOG, WIDE
from logger.core.table import Column
from logger.core.units import UNITS
from logger.store.schema import migrate
from logger.tables import SCHEMA_FILES

ROOT = Path(__file__).parents[3]
TEXT = (ROOT / "docs" / "formats.md").read_text("utf-8")


def store_tables() -> dict[str, list[str]]:
    """The tables of a drive and their columns, as SQLite lists them."""
    db = sqlite3.connect(":memory:", isolation_level=None)
    migrate(db)
    names = [
        row[0] for row in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY rowid")
    ]
    tables = {name: [row[1] for row in db.execute(f"PRAGMA table_info({name})")] for name in names}
    db.close()
    return tables


def documented(column: Column) -> str:
    """The line of docs/formats.md that defines a column."""
    return f"| `{column.name}` | {column.kind} | {column.unit} | {column.meaning} | {column.absent} |"


@pytest.mark.parametrize("column", [DRIVE, *LOG, *EVIDENCE, *WIDE], ids=lambda column: column.name)
def test_every_column_is_defined(column: Column) -> None:
    """Each column has its line, with the type, unit, meaning and absence that the program has."""
    assert documented(column) in TEXT.splitlines()


@pytest.mark.parametrize(("table", "columns"), store_tables().items())
def test_every_table_of_the_store_is_described(table: str, columns: list[str]) -> None:
    """Each table has a line that names all its columns in their order."""
    kept = TEXT.split("### Tables")[1]
    lines = [line for line in kept.splitlines() if line.startswith(f"| `{table}` |")]

    assert 1 == len(lines)
    assert ", ".join(f"`{column}`" for column in columns) in lines[0]


def test_the_rest_is_named() -> None:
    """Every format, unit and shipped schema is named, and every linked file is there."""
    for word in (*FORMATS, *(unit for unit in UNITS if unit), "drive.sqlite", "drive.sqlite-wal"):
        assert f"`{word}`" in TEXT
    for file in SCHEMA_FILES.values():
        assert f"](../logger/tables/{file})" in TEXT
        assert (ROOT / "logger" / "tables" / file).is_file()


def test_nothing_is_described_that_is_not() -> None:
    """No line of the column tables is about a column that is gone."""
    defined = {documented(column) for column in (DRIVE, *LOG, *EVIDENCE, *WIDE)}
    kinds = ("text", "number", "integer", "instant", "json")
    log = TEXT.split("## The results")[0]  # which have a test of their own
    lines = [line for line in log.splitlines() if any(f"` | {kind} | " in line for kind in kinds)]

    assert set() == set(lines) - defined
