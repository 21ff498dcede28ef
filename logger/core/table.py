"""A table in memory: typed columns and rows, ready for any writer. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

Cell = str | int | Decimal | None
"""TEXT: str. JSON: str holding JSON text. NUMBER: Decimal. INTEGER: int. INSTANT: int, nanoseconds of UTC.
None: absent. An absent text is None, never ""."""


class Kind(StrEnum):
    """What the cells of a column are."""

    TEXT = "text"
    NUMBER = "number"
    INTEGER = "integer"
    INSTANT = "instant"
    JSON = "json"


@dataclass(frozen=True, slots=True)
class Column:
    """One column, with all that its documentation and its schema say.

    Attributes:
        name: the header.
        kind: what its cells are.
        unit: the unit of its numbers, "" where there is none or another column tells it.
        meaning: one sentence.
        absent: when a cell is empty; "never" when none is.
        choices: every text it may hold, empty for any.
        lowest, highest: limits of its numbers, both included.
        unique: whether no two rows share a value.
    """

    name: str
    kind: Kind
    unit: str
    meaning: str
    absent: str = "never"
    choices: tuple[str, ...] = ()
    lowest: int | None = None
    highest: int | None = None
    unique: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of cells, each as long as `columns`. `name` says which of the documented tables this is."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def column(self, name: str) -> tuple[Cell, ...]:
        """Return the cells of one column.

        Raises:
            KeyError: there is no such column.
        """
        for index, column in enumerate(self.columns):
            if column.name == name:
                return tuple(row[index] for row in self.rows)
        raise KeyError(name)


def fixed(number: float, places: int) -> Decimal:
    """Return a finite number with so many decimals, never "-0"."""
    cell = Decimal(f"{number:.{places}f}")
    return cell or abs(cell)


def plain(number: Decimal | int) -> str:
    """Return a number as digits, never with an exponent: "63.0" stays "63.0"."""
    return format(number, "f") if isinstance(number, Decimal) else str(number)
