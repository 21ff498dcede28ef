"""JSON lines: one object per row, every column in it, `null` where absent.

Numbers are written by hand, with the decimals that were said: 63.0 stays 63.0, which RFC 8259 section 6 allows.
"""

from __future__ import annotations

import json
from typing import BinaryIO

from logger.core.table import Cell, Column, Kind, Table, plain
from logger.core.utc import format_utc


def write_jsonl(table: Table, stream: BinaryIO) -> None:
    """Write the table as JSON lines in UTF-8.

    Raises:
        OSError: the stream cannot be written.
    """
    keys = [json.dumps(column.name) for column in table.columns]
    for row in table.rows:
        members = (
            f"{key}: {_value(column, cell)}"
            for key, column, cell in zip(keys, table.columns, row, strict=True)
        )
        stream.write(f"{{{', '.join(members)}}}\n".encode())


def _value(column: Column, cell: Cell) -> str:
    if cell is None:
        return "null"
    if column.kind is Kind.JSON:
        return str(cell)
    if column.kind is Kind.INSTANT:
        return json.dumps(format_utc(int(cell)))
    return json.dumps(cell) if isinstance(cell, str) else plain(cell)
