"""The tables of a drive and how an older drive is brought up to date: a list of named functions.

`PRAGMA user_version` counts the migrations that a file has had. Facts are append-only, which triggers enforce for
every program that opens the file; entries and alternatives are derived and may be replaced.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence

APPLICATION_ID = 0x6F646F76
"""`PRAGMA application_id` of a drive: "odov" in ASCII. It tells a drive from any other SQLite file."""

Migration = Callable[[sqlite3.Connection], None]

_FACTS = {
    "drive": ("id",),
    "source": ("id", "sha256, start_ns"),
    "utterance": ("id", "source_id, first_sample"),
    "recognition": ("id", "utterance_id, recogniser"),
    "hypothesis": ("recognition_id, rank",),
    "track_file": ("id", "sha256"),
    "fix": ("track_file_id, number",),
    "decision": ("id",),
    "issue": ("id", "code, message"),
}
"""The append-only tables of the first format, each with its keys."""


def first_format(db: sqlite3.Connection) -> None:
    """Make the tables of the first format."""
    for statement in _TABLES:
        db.execute(statement)
    for table, keys in _FACTS.items():
        # The one thing about a fact that may change: a source that was taken in to its end gets its length.
        exception = (
            " WHEN OLD.sample_count IS NOT NULL OR NEW.sample_count IS NULL OR (OLD.id, OLD.name, OLD.sha256,"
            " OLD.start_ns) IS NOT (NEW.id, NEW.name, NEW.sha256, NEW.start_ns)"
            if table == "source"
            else ""
        )
        db.execute(
            f"CREATE TRIGGER {table}_is_never_changed BEFORE UPDATE ON {table}{exception}"
            f" BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        )
        db.execute(
            f"CREATE TRIGGER {table}_is_never_deleted BEFORE DELETE ON {table}"
            f" BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        )
        # INSERT OR REPLACE deletes the row in its way without a delete trigger, so it is stopped here.
        taken = " OR ".join(
            f"EXISTS (SELECT 1 FROM {table} WHERE ({key}) = ({_new(key)}))"  # noqa: S608  (our own names)
            for key in keys
        )
        db.execute(
            f"CREATE TRIGGER {table}_is_never_replaced BEFORE INSERT ON {table} WHEN {taken}"
            f" BEGIN SELECT RAISE(ABORT, '{table} is append-only, and has such a row'); END"
        )


def scores_of_each(db: sqlite3.Connection) -> None:
    """Keep beside an answer's score what each of several joined recognisers gave it."""
    # json_valid(NULL) is NULL or 0, by the version of SQLite.
    db.execute(
        "ALTER TABLE hypothesis ADD COLUMN ear_scores TEXT CHECK (ear_scores IS NULL OR json_valid(ear_scores))"
    )


def longer_stretches(db: sqlite3.Connection) -> None:
    """Note which utterance holds another one from its beginning: live, a call may be answered before it is over."""
    db.execute(
        """CREATE TABLE longer (
        utterance_id INTEGER PRIMARY KEY REFERENCES utterance (id),
        longer_id INTEGER NOT NULL REFERENCES utterance (id) CHECK (longer_id <> utterance_id)
    ) STRICT"""
    )
    for when in ("UPDATE", "DELETE"):
        db.execute(
            f"CREATE TRIGGER longer_is_never_{when.lower()}d BEFORE {when} ON longer"
            f" BEGIN SELECT RAISE(ABORT, 'longer is append-only'); END"
        )
    db.execute(
        "CREATE TRIGGER longer_is_never_replaced BEFORE INSERT ON longer"
        " WHEN EXISTS (SELECT 1 FROM longer WHERE utterance_id = NEW.utterance_id)"
        " BEGIN SELECT RAISE(ABORT, 'longer is append-only, and has such a row'); END"
    )


def decisions_of_a_review(db: sqlite3.Connection) -> None:
    """Keep with a decision what the entry was, what was typed, a note's text, and which decision it withdraws.

    A CHECK cannot be changed in place, so the table is made anew under its name. Dropping one runs no trigger.
    """
    db.execute(_DECISIONS)
    kept = "id, at_utc_ns, who, action, entry_id, quantity, value, unit, at_ns, why"
    db.execute(f"INSERT INTO decision_kept ({kept}) SELECT {kept} FROM decision")  # noqa: S608  (our own names)
    db.execute("DROP TABLE decision")
    db.execute("ALTER TABLE decision_kept RENAME TO decision")
    for when, what in (("UPDATE", "changed"), ("DELETE", "deleted")):
        db.execute(
            f"CREATE TRIGGER decision_is_never_{what} BEFORE {when} ON decision"
            f" BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END"
        )
    db.execute(
        "CREATE TRIGGER decision_is_never_replaced BEFORE INSERT ON decision"
        " WHEN EXISTS (SELECT 1 FROM decision WHERE id = NEW.id)"
        " BEGIN SELECT RAISE(ABORT, 'decision is append-only, and has such a row'); END"
    )


MIGRATIONS: tuple[Migration, ...] = (
    first_format,
    scores_of_each,
    longer_stretches,
    decisions_of_a_review,
)
"""Every step from an empty file to the format of this version, in order; never edited, only added to."""


def migrate(db: sqlite3.Connection, migrations: Sequence[Migration] = MIGRATIONS) -> None:
    """Run the migrations a file has not had. The caller holds a write transaction, so it is all or nothing."""
    done = version(db)
    for step in migrations[done:]:
        step(db)
    db.execute(f"PRAGMA user_version = {max(done, len(migrations))}")
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def version(db: sqlite3.Connection) -> int:
    """Return how many migrations a file has had."""
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def is_drive(db: sqlite3.Connection) -> bool:
    """Whether the file is one of ours."""
    return bool(db.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID)


def is_empty(db: sqlite3.Connection) -> bool:
    """Whether the file holds nothing at all, as one does whose making was interrupted."""
    # The tables are counted first: in a damaged file that fails here, when it is opened, and not later.
    return not db.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0] and not is_drive(db)


def _new(key: str) -> str:
    return ", ".join(f"NEW.{column.strip()}" for column in key.split(","))


_TABLES = (
    """CREATE TABLE drive (
        id INTEGER PRIMARY KEY CHECK (id = 1),
        began_utc_ns INTEGER NOT NULL,
        sheet_toml TEXT NOT NULL,
        software TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE source (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        start_ns INTEGER NOT NULL,
        sample_count INTEGER CHECK (sample_count >= 0),
        UNIQUE (sha256, start_ns)
    ) STRICT""",
    """CREATE TABLE utterance (
        id INTEGER PRIMARY KEY,
        source_id INTEGER NOT NULL REFERENCES source (id),
        first_sample INTEGER NOT NULL CHECK (first_sample >= 0),
        sample_count INTEGER NOT NULL CHECK (sample_count >= 0),
        start_ns INTEGER NOT NULL,
        clip TEXT NOT NULL,
        UNIQUE (source_id, first_sample)
    ) STRICT""",
    """CREATE TABLE recognition (
        id INTEGER PRIMARY KEY,
        utterance_id INTEGER NOT NULL REFERENCES utterance (id),
        recogniser TEXT NOT NULL,
        UNIQUE (utterance_id, recogniser)
    ) STRICT""",
    """CREATE TABLE hypothesis (
        recognition_id INTEGER NOT NULL REFERENCES recognition (id),
        rank INTEGER NOT NULL CHECK (rank >= 0),
        words TEXT NOT NULL CHECK (json_valid(words)),
        score REAL,
        PRIMARY KEY (recognition_id, rank)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE track_file (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL,
        sha256 TEXT NOT NULL UNIQUE
    ) STRICT""",
    """CREATE TABLE fix (
        track_file_id INTEGER NOT NULL REFERENCES track_file (id),
        number INTEGER NOT NULL CHECK (number >= 0),
        utc_ns INTEGER NOT NULL,
        lat_deg REAL NOT NULL CHECK (lat_deg BETWEEN -90 AND 90),
        lon_deg REAL NOT NULL CHECK (lon_deg BETWEEN -180 AND 180),
        altitude_m REAL,
        speed_mps REAL,
        hdop REAL,
        PRIMARY KEY (track_file_id, number)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE decision (
        id INTEGER PRIMARY KEY,
        at_utc_ns INTEGER NOT NULL,
        who TEXT NOT NULL,
        action TEXT NOT NULL CHECK (action IN ('accept', 'replace', 'reject', 'add')),
        entry_id TEXT NOT NULL,
        quantity TEXT NOT NULL,
        value TEXT CHECK (value GLOB '*[0-9]*' AND value NOT GLOB '*[^-.0-9]*'),
        unit TEXT NOT NULL,
        at_ns INTEGER,
        why TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE issue (
        id INTEGER PRIMARY KEY,
        code TEXT NOT NULL,
        message TEXT NOT NULL,
        UNIQUE (code, message)
    ) STRICT""",
    """CREATE TABLE entry (
        number INTEGER PRIMARY KEY,
        id TEXT NOT NULL UNIQUE,
        utterance_id INTEGER NOT NULL REFERENCES utterance (id),
        at_ns INTEGER NOT NULL,
        quantity TEXT NOT NULL,
        value TEXT CHECK (value GLOB '*[0-9]*' AND value NOT GLOB '*[^-.0-9]*'),
        unit TEXT NOT NULL,
        status TEXT NOT NULL CHECK (status IN ('accepted', 'flagged', 'corrected', 'rejected')),
        confidence REAL NOT NULL,
        origin TEXT NOT NULL CHECK (origin IN ('heard', 'repaired', 'spoken_correction', 'typed')),
        heard TEXT NOT NULL,
        note TEXT NOT NULL,
        reason TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE alternative (
        entry_number INTEGER NOT NULL REFERENCES entry (number) ON DELETE CASCADE,
        rank INTEGER NOT NULL CHECK (rank >= 0),
        value TEXT NOT NULL CHECK (value GLOB '*[0-9]*' AND value NOT GLOB '*[^-.0-9]*'),
        unit TEXT NOT NULL,
        heard TEXT NOT NULL,
        confidence REAL NOT NULL,
        PRIMARY KEY (entry_number, rank)
    ) STRICT, WITHOUT ROWID""",
)

_DECISIONS = """CREATE TABLE decision_kept (
        id INTEGER PRIMARY KEY,
        at_utc_ns INTEGER NOT NULL,
        who TEXT NOT NULL,
        action TEXT NOT NULL CHECK (action IN ('accept', 'replace', 'reject', 'add', 'withdraw')),
        entry_id TEXT NOT NULL,
        quantity TEXT NOT NULL,
        value TEXT CHECK (value GLOB '*[0-9]*' AND value NOT GLOB '*[^-.0-9]*'),
        unit TEXT NOT NULL,
        at_ns INTEGER,
        why TEXT NOT NULL,
        note TEXT NOT NULL DEFAULT '',
        words TEXT NOT NULL DEFAULT '',
        was_status TEXT CHECK (was_status IN ('accepted', 'flagged', 'corrected', 'rejected')),
        was_quantity TEXT,
        was_value TEXT CHECK (was_value GLOB '*[0-9]*' AND was_value NOT GLOB '*[^-.0-9]*'),
        was_unit TEXT,
        was_note TEXT,
        withdraws INTEGER REFERENCES decision (id) CHECK ((withdraws IS NOT NULL) = (action = 'withdraw'))
    ) STRICT"""
