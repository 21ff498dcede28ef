"""SQLite's and the disk's complaints, told in one line with what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from logger.errors import StoreError

_ADVICE = {
    sqlite3.SQLITE_BUSY: "is in use by another program; wait until that has ended, then run this again",
    sqlite3.SQLITE_LOCKED: "is in use by another program; wait until that has ended, then run this again",
    sqlite3.SQLITE_FULL: "cannot grow: the disk is full; free some space, then run this again (nothing stored is lost)",
    sqlite3.SQLITE_READONLY: "is read-only; change its permissions, or copy the drive folder to a place you may write to",
    sqlite3.SQLITE_PERM: "may not be opened; change its permissions",
    sqlite3.SQLITE_AUTH: "may not be opened; change its permissions",
    sqlite3.SQLITE_CANTOPEN: "cannot be opened; check the permissions of the drive folder and of the files in it",
    sqlite3.SQLITE_NOTADB: "is not an SQLite database; if it was one, bring it back from a backup",
    sqlite3.SQLITE_CORRUPT: "is damaged; bring it back from a backup, or ingest the recording into a new folder",
    sqlite3.SQLITE_IOERR: "cannot be read or written: the disk reports an error; check that it is there and not full",
}


def explained(error: sqlite3.Error, path: Path) -> StoreError:
    """Return the StoreError that says what happened to the database at `path` and what to do."""
    code = getattr(error, "sqlite_errorcode", None)
    if isinstance(code, int) and (code & 0xFF) in _ADVICE:  # the low byte is the kind, the rest a detail
        return StoreError(f"{path} {_ADVICE[code & 0xFF]}")
    detail = " ".join(str(error).split())
    return StoreError(
        f"{path} refused what was asked of it ({detail}); please report this as a fault of odovox"
    )


@contextmanager
def explaining(path: Path) -> Iterator[None]:
    """Turn whatever SQLite raises inside into a StoreError about the database at `path`."""
    try:
        yield
    except sqlite3.Error as error:
        raise explained(error, path) from error
