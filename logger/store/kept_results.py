"""What was worked out of a drive, kept beside it, and found again only while the drive is to the byte what it was made from."""

from __future__ import annotations

import hashlib
import json
import os
from contextlib import suppress
from pathlib import Path

from logger.errors import StoreError
from logger.store.connection import FILE_NAME

KEPT_NAME = "results.json"


def content_of(folder: Path) -> str:
    """Return a text that is another one whenever a byte of the drive's database is, rows not yet moved into it included.

    Raises:
        StoreError: it cannot be read.
    """
    digest = hashlib.sha256()
    for name in (FILE_NAME, FILE_NAME + "-wal"):
        try:
            digest.update((folder / name).read_bytes())
        except FileNotFoundError:
            pass  # no rows wait; where the database itself is missing, opening it says so
        except OSError as error:
            raise StoreError(
                f"{folder / name} cannot be read ({error.strerror}); check its permissions"
            ) from error
        digest.update(b"|")
    return digest.hexdigest()


def has_kept(folder: Path) -> bool:
    """Whether anything was kept beside a drive, of whatever it was made; False also where nobody may look."""
    try:
        return (folder / KEPT_NAME).is_file()
    except OSError:
        return False


def read_kept(folder: Path, made_from: str) -> str | None:
    """Return the text that was kept for just this, None where there is none."""
    try:
        kept = json.loads((folder / KEPT_NAME).read_bytes())
        text = kept["text"] if kept["made_from"] == made_from else None
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return text if isinstance(text, str) else None


def keep(folder: Path, made_from: str, text: str) -> None:
    """Keep a text beside a drive, in the place of what was kept; where that cannot be written, it is not kept."""
    unfinished = folder / f".{KEPT_NAME}.{os.getpid()}"
    with suppress(OSError):
        try:
            # As private as the drive itself.
            unfinished.touch(mode=0o600)
            unfinished.write_text(json.dumps({"made_from": made_from, "text": text}), encoding="utf-8")
            unfinished.replace(folder / KEPT_NAME)
        finally:
            unfinished.unlink(missing_ok=True)
