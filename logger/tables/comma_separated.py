"""CSV as in RFC 4180: UTF-8, a header, CRLF, quotes only where needed.

Spreadsheets run a cell that begins with `=`, `+`, `-` or `@` as a formula. Numbers are written by us and are safe; a
text a person typed may not be. Such a text gets an apostrophe in front, in CSV only; so does one that begins with an
apostrophe already, so that the change can be undone without guessing: `unguarded` is the reverse.
"""

from __future__ import annotations

import codecs
import csv
from typing import BinaryIO

from logger.core.table import Cell, Column, Kind, Table, plain
from logger.core.utc import format_utc

_GUARD = "'"
_RISKY_AT_ONCE = (_GUARD, "\t", "\r", "\n")
_RISKY_AFTER_SPACE = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def write_csv(table: Table, stream: BinaryIO) -> None:
    """Write the table as CSV; an absent cell is empty.

    Raises:
        OSError: the stream cannot be written.
    """
    # A stream writer, not a TextIOWrapper: it never closes or re-encodes a stream that is not its own.
    lines = csv.writer(codecs.getwriter("utf-8")(stream), lineterminator="\r\n")
    lines.writerow([column.name for column in table.columns])
    for row in table.rows:
        lines.writerow([_field(column, cell) for column, cell in zip(table.columns, row, strict=True)])


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula: with an apostrophe in front where one is needed."""
    risky = text.startswith(_RISKY_AT_ONCE) or text.lstrip().startswith(_RISKY_AFTER_SPACE)
    return _GUARD + text if risky else text


def unguarded(text: str) -> str:
    """Return the text that `guarded` was given."""
    return text.removeprefix(_GUARD)


def _field(column: Column, cell: Cell) -> str:
    if cell is None:
        return ""
    if column.kind is Kind.INSTANT:
        return format_utc(int(cell))
    if isinstance(cell, str):
        return guarded(cell) if column.kind is Kind.TEXT else cell
    return plain(cell)
