"""SQLite's and the disk's complaints, told in one line with what to do."""

from __future__ import annotations

import shlex
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from logger.errors import DamagedError, StoreError

_ADVICE = {
    sqlite3.SQLITE_BUSY: "is in use by another program; wait until that has ended, then run this again",
    sqlite3.SQLITE_LOCKED: "is in use by another program; wait until that has ended, then run this again",
    sqlite3.SQLITE_FULL: "cannot grow: the disk is full; free some space, then run this again (nothing stored is lost)",
    sqlite3.SQLITE_READONLY: "is read-only; change its permissions, or copy the drive folder to a place you may write to",
    sqlite3.SQLITE_PERM: "may not be opened; change its permissions",
    sqlite3.SQLITE_AUTH: "may not be opened; change its permissions",
    sqlite3.SQLITE_CANTOPEN: "cannot be opened; check the permissions of the drive folder and of the files in it",
    sqlite3.SQLITE_NOTADB: "is not an SQLite database",
    sqlite3.SQLITE_IOERR: "cannot be read or written: the disk reports an error; check that it is there and not full",
}


def explained(error: sqlite3.Error, path: Path) -> StoreError:
    """Return the StoreError that says what happened to the database at `path` and what to do."""
    code = getattr(error, "sqlite_errorcode", None)
    kind = code & 0xFF if isinstance(code, int) else None  # the low byte is the kind, the rest a detail
    # Text that is no text has no code.
    if kind == sqlite3.SQLITE_CORRUPT or (kind is None and "UTF-8" in str(error)):
        return damaged(path)
    if kind == sqlite3.SQLITE_NOTADB:
        return StoreError(f"{path} {_ADVICE[kind]}; if it was one, {_how_to_recover(path)}")
    if kind in _ADVICE:
        return StoreError(f"{path} {_ADVICE[kind]}")
    detail = " ".join(str(error).split())
    return StoreError(
        f"{path} refused what was asked of it ({detail}); please report this as a fault of odovox"
    )


def damaged(path: Path) -> StoreError:
    """Return the StoreError that says that the database at `path` is damaged, and what to do."""
    return DamagedError(f"{path} is damaged; {_how_to_recover(path)}")


def _how_to_recover(path: Path) -> str:
    folder = shlex.quote(str(path.parent))
    return (
        f"bring it back from a backup, or run `odovox recover {folder} --out NEW`, which makes a new drive of all that can "
        "still be read and leaves this one as it is"
    )


@contextmanager
def explaining(path: Path) -> Iterator[None]:
    """Turn whatever SQLite raises inside into a StoreError about the database at `path`."""
    try:
        yield
    except sqlite3.Error as error:
        raise explained(error, path) from error
    except (
        UnicodeDecodeError
    ) as error:  # its own message, with what it found in the place of a table's definition
        raise damaged(path) from error


@contextmanager
def believing(path: Path) -> Iterator[None]:
    """Take what is read inside for what was written: if it makes no record, the database at `path` is damaged."""
    try:
        yield
    except (ValueError, TypeError, ArithmeticError, LookupError) as error:
        raise damaged(path) from error
