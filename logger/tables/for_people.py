"""A table to look at: aligned text, time as hours since the start, doubt in words."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import BinaryIO

from logger.core.comparing.rows import Grid
from logger.core.table import Cell, Kind, Table, plain
from logger.core.times import elapsed_text, time_of_day_text

_DOUBT = {
    "accepted": "",
    "flagged": "IN DOUBT",
    "corrected": "corrected",
    "rejected": "REJECTED",
}
_NOT_SHOWN_WIDE = frozenset({"at", "elapsed_s", "lat_deg", "lon_deg"})


def write_text(table: Table, stream: BinaryIO) -> None:
    """Write the table as aligned text in UTF-8, without the columns that only a program needs.

    Raises:
        OSError: the stream cannot be written.
    """
    from tabulate import tabulate  # heavy

    header, rows, numeric = _wide(table) if table.name == "checkpoints" else _long(table)
    alignment = ["right" if right else "left" for right in numeric]
    text = tabulate(
        rows,
        headers=header,
        tablefmt="simple",
        disable_numparse=True,
        colalign=alignment if rows else None,
    )
    stream.write((text + "\n").encode())


def aligned(grid: Grid) -> str:
    """Return short texts as aligned text, each line ended."""
    from tabulate import tabulate  # heavy

    text = tabulate(
        grid.rows,
        headers=grid.header,
        tablefmt="simple",
        disable_numparse=True,
        colalign=["right" if right else "left" for right in grid.numeric] if grid.rows else None,
    )
    return f"{text}\n"


_Layout = tuple[list[str], list[list[str]], list[bool]]


def _long(table: Table) -> _Layout:
    header = ["entry", "time", "gps km", "quantity", "value", "unit", "status", "sure", "heard", "remark"]
    names = [column.name for column in table.columns]
    rows = []
    for cells in table.rows:
        row = dict(zip(names, cells, strict=True))
        value, unit = _reading(str(row["quantity"]), row["value"], row["unit"])
        rows.append(
            [
                _text(row["entry_id"]),
                _hours(row["elapsed_s"]),
                _number(row["gps_distance_km"], 2),
                _text(row["quantity"]),
                value,
                unit,
                _DOUBT[str(row["status"])],
                _percent(row["confidence"]) if row["value"] is not None else "",
                _text(row["heard"]),
                "; ".join(_text(row[part]) for part in ("note", "reason") if row[part]),
            ]
        )
    return header, rows, [False, True, True, False, True, False, False, True, False, False]


def _wide(table: Table) -> _Layout:
    shown = [index for index, column in enumerate(table.columns) if column.name not in _NOT_SHOWN_WIDE]
    columns = [table.columns[index] for index in shown]
    header = [columns[0].name, "time", *(column.name for column in columns[1:])]
    header = ["IN DOUBT" if name == "flagged" else name for name in header]
    elapsed = table.column("elapsed_s")
    rows = []
    for cells, seconds in zip(table.rows, elapsed, strict=True):
        texts = []
        for index, column in zip(shown, columns, strict=True):
            if column.name == "gps_distance_km":
                texts.append(_number(cells[index], 2))
            elif column.name == "clock_min":
                texts.append(_reading("clock", cells[index], "min")[0])
            else:
                texts.append(_text(cells[index]))
        rows.append([texts[0], _hours(seconds), *texts[1:]])
    header = ["clock" if name == "clock_min" else name for name in header]
    return header, rows, [True, True, *(column.kind is Kind.NUMBER for column in columns[1:])]


def _reading(quantity: str, value: Cell, unit: Cell) -> tuple[str, str]:
    if quantity == "clock" and isinstance(value, Decimal):
        return time_of_day_text(value), ""
    return _text(value), _text(unit)


def _hours(elapsed_s: Cell) -> str:
    return elapsed_text(elapsed_s if isinstance(elapsed_s, Decimal) else 0)


def _percent(share: Cell) -> str:
    """Rounded down, so that only a certain thing is 100 %."""
    return f"{int(share * 100)}%" if isinstance(share, Decimal) else ""


def _number(cell: Cell, places: int) -> str:
    return f"{cell:.{places}f}" if isinstance(cell, Decimal) else ""


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    return _printable(cell) if isinstance(cell, str) else plain(cell)


def _printable(text: Iterable[str]) -> str:
    """Without control characters, which could steer the terminal."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)
