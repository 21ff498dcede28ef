"""Formats are counted, updated step by step, and all or nothing."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

import pytest

from logger.store.schema import APPLICATION_ID, MIGRATIONS, is_drive, is_empty, migrate, version

DECIDED = "at_utc_ns, who, action, entry_id, quantity, value, unit, why"


@pytest.fixture
def db() -> Iterator[sqlite3.Connection]:
    """An empty database in memory."""
    made = sqlite3.connect(":memory:", isolation_level=None)
    yield made
    made.close()


def add_colour(db: sqlite3.Connection) -> None:
    """A second step for the tests."""
    db.execute("ALTER TABLE source ADD COLUMN colour TEXT")


def fail(db: sqlite3.Connection) -> None:
    """A step that fails half-way."""
    db.execute("CREATE TABLE half (x)")
    raise RuntimeError


def test_an_empty_file_becomes_a_drive(db: sqlite3.Connection) -> None:
    """It carries the mark of a drive and the number of steps it has had."""
    assert (True, False) == (is_empty(db), is_drive(db))
    migrate(db)

    assert (False, True) == (is_empty(db), is_drive(db))
    assert len(MIGRATIONS) == version(db)
    assert b"odov" == APPLICATION_ID.to_bytes(4, "big")


def test_only_the_missing_steps_are_run(db: sqlite3.Connection) -> None:
    """An older file gets what it lacks, once."""
    migrate(db)
    for _ in range(2):
        migrate(db, (*MIGRATIONS, add_colour))

    assert len(MIGRATIONS) + 1 == version(db)
    assert "colour" in [row[1] for row in db.execute("PRAGMA table_info(source)")]


def test_a_newer_file_is_not_called_older(db: sqlite3.Connection) -> None:
    """Running the steps of an older program changes nothing and keeps the newer number."""
    migrate(db, (*MIGRATIONS, add_colour))
    migrate(db)

    assert len(MIGRATIONS) + 1 == version(db)


def test_a_failed_step_leaves_the_old_format(db: sqlite3.Connection) -> None:
    """Inside a transaction, a step that fails leaves neither its tables nor its number."""
    migrate(db)
    db.execute("BEGIN IMMEDIATE")
    with pytest.raises(RuntimeError):
        migrate(db, (*MIGRATIONS, add_colour, fail))
    db.execute("ROLLBACK")

    assert len(MIGRATIONS) == version(db)
    assert [] == db.execute("SELECT name FROM sqlite_schema WHERE name = 'half'").fetchall()
    assert "colour" not in [row[1] for row in db.execute("PRAGMA table_info(source)")]


def test_every_table_is_strict(db: sqlite3.Connection) -> None:
    """SQLite itself says of each table that it checks types (`PRAGMA table_list`, column strict)."""
    migrate(db)
    strict = {row[1]: row[5] for row in db.execute("PRAGMA table_list") if not row[1].startswith("sqlite_")}

    assert 12 == len(strict)
    assert {1} == set(strict.values())


@pytest.mark.parametrize(
    "sql",
    [
        "INSERT INTO drive VALUES (1, 'yesterday', '', '')",
        "INSERT INTO drive VALUES (2, 0, '', '')",
        "INSERT INTO issue VALUES (1, NULL, 'x')",
        "INSERT INTO track_file VALUES (1, 'a', 'b'), (2, 'c', 'b')",
        f"INSERT INTO decision ({DECIDED}) VALUES (0, 'Ada', 'maybe', '1-1', 'charge', '5', '%', '')",
        f"INSERT INTO decision ({DECIDED}) VALUES (0, 'Ada', 'replace', '1-1', 'charge', 'five', '%', '')",
        f"INSERT INTO decision ({DECIDED}) VALUES (0, 'Ada', 'withdraw', '1-1', 'charge', NULL, '', '')",
        f"INSERT INTO decision ({DECIDED}, withdraws) VALUES (0, 'Ada', 'accept', '1-1', 'charge', '5', '%', '', 1)",
        f"INSERT INTO decision ({DECIDED}, was_status) VALUES (0, 'Ada', 'accept', '1-1', 'charge', '5', '%', '', 'odd')",
    ],
)
def test_wrong_rows_are_refused(db: sqlite3.Connection, sql: str) -> None:
    """Wrong types, a second drive, missing texts, doubled files, unknown actions and wordy values do not get in."""
    migrate(db)
    with pytest.raises(sqlite3.IntegrityError):
        db.execute(sql)


def test_older_decisions_are_kept(db: sqlite3.Connection) -> None:
    """The format of before the review: its decisions come through unchanged, and are as unchangeable as they were."""
    migrate(db, MIGRATIONS[:3])
    db.execute(
        "INSERT INTO decision VALUES (4, 5, 'Ada', 'replace', '1-1', 'charge', '61.0', '%', NULL, 'clip')"
    )
    before = db.execute("SELECT * FROM decision").fetchall()
    migrate(db)

    assert before == [row[:10] for row in db.execute("SELECT * FROM decision")]
    assert [("", "", None, None, None, None, None, None)] == [
        row[10:] for row in db.execute("SELECT * FROM decision")
    ]
    db.execute(f"INSERT INTO decision ({DECIDED}) VALUES (0, 'Ada', 'accept', '1-1', 'charge', '5', '%', '')")
    for statement in (
        "UPDATE decision SET who = 'Bo'",
        "DELETE FROM decision",
        f"INSERT OR REPLACE INTO decision (id, {DECIDED}) VALUES (4, 0, 'Bo', 'accept', '1-1', 'charge', '5', '%', '')",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            db.execute(statement)
