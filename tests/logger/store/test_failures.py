"""What SQLite complains about is told in one line with what to do; each complaint here is a real one.

Outside: the result codes of SQLite's own documentation ("Result and Error Codes"), as Python's sqlite3 names them.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from logger.errors import StoreError
from logger.store.failures import explained, explaining

PATH = Path("lap/drive.sqlite")


def test_a_full_disk() -> None:
    """A database that may not grow any further fails as on a full disk."""
    db = sqlite3.connect(":memory:")
    db.execute("CREATE TABLE t (x)")
    db.execute("PRAGMA max_page_count = 3")
    with (
        pytest.raises(StoreError, match=r"^lap/drive.sqlite cannot grow: the disk is full;"),
        explaining(PATH),
    ):
        db.execute("INSERT INTO t VALUES (zeroblob(100000))")
    db.close()


def test_a_locked_database(tmp_path: Path) -> None:
    """Another connection's open transaction is 'in use', and what to do is to wait."""
    first = sqlite3.connect(tmp_path / "x", isolation_level=None)
    second = sqlite3.connect(tmp_path / "x", isolation_level=None, timeout=0)
    first.execute("BEGIN IMMEDIATE")
    with pytest.raises(StoreError, match="in use by another program; wait"), explaining(PATH):
        second.execute("BEGIN IMMEDIATE")
    first.close()
    second.close()


def test_a_read_only_connection(tmp_path: Path) -> None:
    """Writing where one may only read says so."""
    sqlite3.connect(tmp_path / "x").close()
    db = sqlite3.connect(f"{(tmp_path / 'x').as_uri()}?mode=ro", uri=True)
    with pytest.raises(StoreError, match="is read-only; change its permissions"), explaining(PATH):
        db.execute("CREATE TABLE t (x)")
    db.close()


def test_no_database(tmp_path: Path) -> None:
    """A file of something else is not a database."""
    (tmp_path / "x").write_bytes(b"RIFF" * 1000)
    db = sqlite3.connect(tmp_path / "x")
    with pytest.raises(StoreError, match="is not an SQLite database"), explaining(PATH):
        db.execute("SELECT * FROM sqlite_schema")
    db.close()


def test_a_file_that_cannot_be_opened(tmp_path: Path) -> None:
    """A folder that is not there cannot hold a database."""
    with pytest.raises(StoreError, match="cannot be opened; check the permissions"), explaining(PATH):
        sqlite3.connect(tmp_path / "none" / "x")


def test_a_fault_of_ours() -> None:
    """Anything else is a fault in odovox, told in one line with what SQLite said."""
    db = sqlite3.connect(":memory:")
    with (
        pytest.raises(StoreError, match=r"no such table: nowhere\); please report") as caught,
        explaining(PATH),
    ):
        db.execute("SELECT * FROM nowhere")
    db.close()

    assert "\n" not in str(caught.value)
    assert isinstance(caught.value.__cause__, sqlite3.OperationalError)


def test_an_error_without_a_code() -> None:
    """Errors that Python itself raises carry no code, and are told as they are."""
    assert "closed database" in str(
        explained(sqlite3.ProgrammingError("Cannot operate on a closed database."), PATH)
    )
