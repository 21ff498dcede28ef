"""A drive that may be there already, and the sheet that goes with it."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from logger.errors import SheetError
from logger.store import DriveStore
from logger.store.connection import NoDriveYetError, has_database
from logger.wiring.sheets import SheetText, load_sheet, sheet_from


def existing_drive(folder: Path) -> DriveStore | None:
    """Open the drive in a folder; None where there is none yet, or only one whose making was interrupted.

    Raises:
        StoreError: there is one, and it cannot be opened.
    """
    if not has_database(folder):
        return None
    with suppress(NoDriveYetError):
        return DriveStore.open(folder)
    return None


def sheet_of(store: DriveStore | None, given: Path | None, otherwise: str) -> SheetText:
    """Return the sheet of a drive, or for a new one that which was given (None: the default sheet).

    Args:
        store: the drive, if there is one.
        given: a sheet's file.
        otherwise: what a person does who means another sheet, in the imperative.

    Raises:
        SheetError: the sheet cannot be used, or is not that of the drive.
    """
    sheet = load_sheet(given)
    if store is None:
        return sheet
    kept = store.drive().sheet_toml
    if given is not None and sheet.text != kept:
        raise SheetError(
            f"{given}: is not the sheet that {store.folder} was made with; leave --sheet out, or {otherwise}"
        )
    return sheet_from(kept, f"the sheet of {store.folder}")
