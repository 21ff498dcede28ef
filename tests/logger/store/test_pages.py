"""Rows read page by page are those that SQLite itself reads, and damage takes only those of the pages that it struck.

The outside is SQLite: it writes the files, and says what is in them.
"""

from __future__ import annotations

import random
import sqlite3
from collections import Counter
from pathlib import Path

import pytest

from logger.store.pages import Row, rows_of

PAGE = 4096


def write(path: Path, rows: int = 600, page_size: int = PAGE) -> sqlite3.Connection:
    """A database with every kind of value, rows longer than a page, a table without rowids and an index."""
    rng = random.Random(5)
    db = sqlite3.connect(path, isolation_level=None)
    db.execute(f"PRAGMA page_size = {page_size}")
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA wal_autocheckpoint = 0")
    db.execute("CREATE TABLE plain (id INTEGER PRIMARY KEY, a, b, c)")
    db.execute("CREATE TABLE bare (k INTEGER, n INTEGER, t TEXT, r REAL, PRIMARY KEY (k, n)) WITHOUT ROWID")
    db.execute("CREATE INDEX by_a ON plain (a)")
    db.execute("BEGIN")
    for number in range(1, rows + 1):
        a = rng.choice([None, 0, 1, -1, 127, -32768, 1 << 23, -(1 << 31), 1 << 47, -(1 << 63)])
        b = rng.choice([0.5, -1e300, "odd \u00e9\u4e16", b"\x00\xff", ""])
        c = "word " * rng.choice([0, 1, 10, 2000])
        db.execute("INSERT INTO plain VALUES (?, ?, ?, ?)", (number * 3 if number % 7 else -number, a, b, c))
        t = "x" * rng.choice([3, 30, 1500, 9000])
        db.execute("INSERT INTO bare VALUES (?, ?, ?, ?)", (number // 9, number, t, number / 2))
    db.execute("COMMIT")
    return db


def found_in(file: bytes, log: bytes = b"") -> Counter[Row]:
    """The rows that were found, each as often as it was."""
    return Counter(rows_of(file, log))


def kept_in(db: sqlite3.Connection) -> set[Row]:
    """The rows of our two tables and the index, as SQLite tells them."""
    plain = {Row(row[0], (None, *row[1:])) for row in db.execute("SELECT id, a, b, c FROM plain")}
    index = {Row(None, tuple(row)) for row in db.execute("SELECT a, id FROM plain")}
    bare = {Row(None, tuple(map(stored, row))) for row in db.execute("SELECT k, n, t, r FROM bare")}
    return plain | index | bare


def stored(value: object) -> object:
    """How SQLite keeps a value: a whole real as an integer, which it says is the same."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


@pytest.mark.parametrize("page_size", [512, PAGE, 65_536])
def test_a_whole_file(tmp_path: Path, page_size: int) -> None:
    """All rows are found: in the log alone, in the file alone, and with log left over beside it."""
    path = tmp_path / "whole.sqlite"
    db = write(path, page_size=page_size)
    expected = kept_in(db)
    log = path.with_name(path.name + "-wal").read_bytes()

    assert expected <= set(found_in(path.read_bytes(), log))
    db.execute("PRAGMA wal_checkpoint(FULL)")
    found = found_in(path.read_bytes())
    assert expected <= set(found)
    assert {1} == {found[row] for row in expected if row.rowid is not None}
    db.execute("UPDATE plain SET a = 77 WHERE id = 3")  # the log begins anew: the rest of it is left over
    newest = [
        row
        for row in rows_of(path.read_bytes(), path.with_name(path.name + "-wal").read_bytes())
        if row.rowid == 3
    ]
    assert 77 == newest[-1].values[1]
    db.close()


def test_what_was_not_committed(tmp_path: Path) -> None:
    """Rows in the log that no commit covers are left out, as SQLite leaves them out."""
    path = tmp_path / "open.sqlite"
    db = write(path, rows=20)
    db.execute("PRAGMA cache_size = 1")
    db.execute("BEGIN")
    for number in range(10_000, 10_400):
        db.execute("INSERT INTO plain VALUES (?, 1, 2, ?)", (number, "z" * 500))
    log = path.with_name(path.name + "-wal").read_bytes()
    assert b"z" * 500 in log
    assert not [row for row in rows_of(path.read_bytes(), log) if row.rowid and row.rowid >= 10_000]
    db.execute("ROLLBACK")
    db.close()


@pytest.mark.parametrize("seed", range(6))
def test_damaged_pages(tmp_path: Path, seed: int) -> None:
    """With pages overwritten at random, all rows of the others are found, and none that were never there."""
    path = tmp_path / "damaged.sqlite"
    db = write(path)
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    expected = kept_in(db)
    db.close()
    whole = path.read_bytes()
    rng = random.Random(seed)
    damaged = bytearray(whole)
    struck = rng.sample(range(len(whole) // PAGE), 4)
    for page in struck:
        damaged[page * PAGE : (page + 1) * PAGE] = rng.randbytes(PAGE)
    found = set(found_in(bytes(damaged)))

    # SQLite's own schema table is in there too.
    assert {row for row in found - expected if not isinstance(row.values[0], str)} == set()
    lost = expected - found
    assert lost
    # A long row is lost with any of its pages; short ones only with their own.
    short = {
        row for row in lost if all(not isinstance(value, str) or len(value) < 400 for value in row.values)
    }
    assert len(short) < 4 * PAGE // 8


def test_what_is_no_database() -> None:
    """Noise of any kind gives hardly a row, and never an error."""
    rng = random.Random(9)
    for length in (0, 1, 99, 100, PAGE, 40 * PAGE + 17):
        assert len(list(rows_of(rng.randbytes(length), rng.randbytes(length)))) < 40
    header = b"SQLite format 3\x00" + bytes([2, 0])
    assert list(rows_of(header + rng.randbytes(20 * 512), b"")) is not None
