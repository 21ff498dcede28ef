"""The row about a drive itself, kept a second time beside the database: without it nothing of a drive has its moment."""

from __future__ import annotations

import json
import os
from importlib import metadata
from pathlib import Path

from logger.errors import StoreError
from logger.model import Drive

FILE_NAME = "drive.json"


def write(folder: Path, drive: Drive, software: str) -> None:
    """Write it, so that after a crash there is all of it or none.

    Raises:
        StoreError: it cannot be written.
    """
    path = folder / FILE_NAME
    part = path.with_name(f".{FILE_NAME}.part")
    text = json.dumps(
        {"began_utc_ns": drive.began_utc_ns, "sheet_toml": drive.sheet_toml, "software": software}
    )
    try:
        with os.fdopen(
            os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8"
        ) as file:
            file.write(text + "\n")
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        raise StoreError(
            f"{path} cannot be written ({error.strerror}); free some space or choose another folder"
        ) from error


def read(folder: Path) -> Drive | None:
    """Return what is kept there; None where there is nothing that can be used."""
    try:
        kept = json.loads((folder / FILE_NAME).read_text(encoding="utf-8"))
        return Drive(int(kept["began_utc_ns"]), str(kept["sheet_toml"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def this_software() -> str:
    """Return the name and version of this program."""
    try:
        return f"odovox {metadata.version('odovox')}"
    except metadata.PackageNotFoundError:
        return "odovox, not installed"
