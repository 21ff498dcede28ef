"""A sheet from a file: its text, kept with the drive, and what it means."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from logger.core.sheet import Sheet, default_sheet, parse_sheet
from logger.errors import SheetError


@dataclass(frozen=True, slots=True)
class SheetText:
    """A sheet and the text it was made from, "" for the default sheet."""

    text: str
    sheet: Sheet


def sheet_from(text: str, name: str = "sheet") -> SheetText:
    """Return the sheet of a text; "" means the default sheet.

    Raises:
        SheetError: a mistake in the text; the message names the line and the key.
    """
    return SheetText(text, parse_sheet(text, name) if text else default_sheet())


def load_sheet(path: Path | None) -> SheetText:
    """Read a sheet's file; None means the default sheet.

    Raises:
        SheetError: the file cannot be read, or there is a mistake in it.
    """
    if path is None:
        return sheet_from("")
    try:
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise SheetError(f"{path}: no such sheet; check the name, or leave --sheet out") from error
    except OSError as error:
        raise SheetError(f"{path}: cannot be read ({error.strerror}); name a sheet file") from error
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise SheetError(f"{path}: is no UTF-8 text; save the sheet as UTF-8") from error
    return sheet_from(text, str(path))
