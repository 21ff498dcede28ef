"""Opening and making the SQLite file of a drive folder."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from logger.errors import StoreError
from logger.store import beside, schema
from logger.store.failures import damaged, explaining

FILE_NAME = "drive.sqlite"
BUSY_S = 5.0
"""How long another program's transaction is waited for."""


class NoDriveYetError(StoreError):
    """The database is empty: making the drive was interrupted."""


def has_database(folder: Path) -> bool:
    """Whether there is a file where a drive's database would be; False also where nobody may look."""
    try:
        return (folder / FILE_NAME).is_file()
    except OSError:
        return False


def make(folder: Path) -> sqlite3.Connection:
    """Make the folder (mode 0700) and an empty database in it (mode 0600), or open one that is still empty.

    Raises:
        StoreError: the folder holds a drive or some other database already, or cannot be written.
    """
    path = folder / FILE_NAME
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        # SQLite gives the -wal and -shm files the mode of the database, so this one decides for all three.
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    except FileExistsError as error:
        raise StoreError(f"{folder} is a file; name a folder for the drive") from error
    except OSError as error:
        raise StoreError(
            f"{folder} cannot be made a drive folder: {error.strerror}; choose a place you may write to"
        ) from error
    db = _connect(path, "rw")
    with _closing_on_failure(db, path):
        if schema.is_drive(db):
            raise StoreError(f"{folder} is a drive already; open that one or name another folder")
        if not schema.is_empty(db):
            raise StoreError(f"{path} is some other program's database; name another folder for the drive")
        _require_new(folder)
        db.execute("PRAGMA journal_mode = WAL")
        _make_safe(db)
    return db


def open_for_writing(folder: Path) -> sqlite3.Connection:
    """Open the database of a drive and bring its format up to date.

    Raises:
        StoreError: there is no drive, it is damaged, newer than this program, in use, or may not be written.
    """
    path = _existing(folder)
    # Asked first, since SQLite opens a read-only file without a word and complains at the first write.
    if not os.access(path, os.W_OK) or not os.access(folder, os.W_OK):
        raise StoreError(
            f"{folder} is read-only; change its permissions, or copy it to a place you may write to"
        )
    db = _connect(path, "rw")
    with _closing_on_failure(db, path):
        _check(db, folder)
        _make_safe(db)
        if schema.version(db) < len(schema.MIGRATIONS):
            db.execute("BEGIN IMMEDIATE")
            schema.migrate(db)
            db.execute("COMMIT")
    return db


def open_for_reading(folder: Path) -> tuple[sqlite3.Connection, Callable[[], None]]:
    """Open the database of a drive without changing it; also return what must be called after closing it.

    A WAL database needs a -shm file beside it even to be read. Where none can be made (a read-only folder or disk)
    there are two ways, by whether a -wal file with content was left behind:
    nothing left behind: SQLite's `immutable` mode, which looks at the database file alone;
    something left behind: that mode would not see the newest rows, so both files are copied to a private temporary
    folder and read there.

    Raises:
        StoreError: there is no drive, it is damaged, of another format, or may not be read.
    """
    path = _existing(folder)
    if not os.access(path, os.R_OK):
        raise StoreError(f"{path} may not be read; change its permissions")
    db = _connect(path, "ro")
    done: Callable[[], None] = _nothing
    try:
        schema.version(db)
    except sqlite3.OperationalError as error:
        db.close()
        if error.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN):
            with explaining(path):
                raise
        wal = path.with_name(FILE_NAME + "-wal")
        if wal.exists() and wal.stat().st_size:
            db, done = _copied(path, wal)
        else:
            db = _connect(path, "ro", immutable=True)
    except sqlite3.Error:
        db.close()
        with explaining(path):
            raise
    with _closing_on_failure(db, path, done):
        _check(db, folder)
        if schema.version(db) < len(schema.MIGRATIONS):
            raise StoreError(
                f"{folder} was written by an older odovox; run `odovox reconcile` on it once where it may be written"
            )
    return db, done


def _existing(folder: Path) -> Path:
    path = folder / FILE_NAME
    try:
        if not stat.S_ISDIR(_mode(folder)):
            raise StoreError(f"{folder} is a file, not a drive folder; name the folder it was ingested into")
        if not stat.S_ISREG(_mode(path)):
            raise StoreError(f"{path} is not a file; name a drive folder")
    except PermissionError as error:
        raise StoreError(f"{folder} may not be read; change its permissions") from error
    except OSError as error:
        if not folder.exists():
            raise StoreError(
                f"{folder} does not exist; check the name, or make a drive with ingest"
            ) from error
        raise StoreError(
            f"{folder} is not a drive folder: there is no {FILE_NAME} in it; check the name"
        ) from error
    return path


def _mode(path: Path) -> int:
    return path.stat().st_mode  # unlike `is_file`, this tells "not there" from "not allowed"


def _connect(path: Path, mode: str, *, immutable: bool = False) -> sqlite3.Connection:
    uri = f"{path.resolve().as_uri()}?mode={mode}{'&immutable=1' if immutable else ''}"
    with explaining(path):
        return sqlite3.connect(uri, uri=True, timeout=BUSY_S, isolation_level=None)


def _make_safe(db: sqlite3.Connection) -> None:
    """Set what SQLite forgets between connections: every commit reaches the disk, and references are checked."""
    db.execute("PRAGMA foreign_keys = ON")
    db.execute("PRAGMA synchronous = FULL")


def _copied(path: Path, wal: Path) -> tuple[sqlite3.Connection, Callable[[], None]]:
    place = Path(tempfile.mkdtemp(prefix="odovox-"))

    def remove() -> None:
        shutil.rmtree(place, ignore_errors=True)

    try:
        for file in (path, wal):
            shutil.copyfile(file, place / file.name)
        db = _connect(place / path.name, "rw")
        with _closing_on_failure(db, path):
            db.execute("PRAGMA query_only = ON")
    except OSError as error:
        remove()
        raise StoreError(
            f"{path} cannot be copied for reading: {error.strerror}; copy the drive folder to a place you may write to"
        ) from error
    except BaseException:
        remove()
        raise
    return db, remove


def _check(db: sqlite3.Connection, folder: Path) -> None:
    if schema.is_empty(db):
        _require_new(folder)
        raise NoDriveYetError(f"{folder} holds no drive yet: making it was interrupted; run ingest again")
    if not schema.is_drive(db):
        _require_new(folder)
        raise StoreError(f"{folder / FILE_NAME} is some other program's database; name a drive folder")
    if schema.version(db) > len(schema.MIGRATIONS):
        raise StoreError(
            f"{folder} was written by a newer odovox (format {schema.version(db)}, this one knows up to "
            f"{len(schema.MIGRATIONS)}); update odovox"
        )
    # Some ms for a long drive: better than a wrong value in a log, or calls written into what nobody can read again.
    if db.execute("PRAGMA quick_check(1)").fetchone() != ("ok",):
        raise damaged(folder / FILE_NAME)


def _require_new(folder: Path) -> None:
    """Take a database without a drive in it for what it seems, unless a drive was there, whose sound a new one would write over.

    Raises:
        DamagedError: there was one.
    """
    if beside.read(folder) is not None:
        raise damaged(folder / FILE_NAME)


@contextmanager
def _closing_on_failure(
    db: sqlite3.Connection, path: Path, done: Callable[[], None] | None = None
) -> Iterator[None]:
    """Explain what SQLite raises inside, and leave no connection open behind any error."""
    try:
        with explaining(path):
            yield
    except BaseException:
        db.close()
        (done or _nothing)()
        raise


def _nothing() -> None:
    pass
