"""How a table is told to people: headers in words, cells in their units. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from logger.core.columns import ELAPSED
from logger.core.reporting.figure_words import ShownUnits, decimals, duration_text, number_text, unit_text
from logger.core.table import Cell, Column, Kind, Table
from logger.core.times import elapsed_text, time_of_day_text
from logger.core.utc import format_utc

_ENDINGS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "%": ("pct",),
        "km": ("km",),
        "mi": ("mi",),
        "m": ("m",),
        "s": ("s",),
        "km/h": ("kmh",),
        "mph": ("mph",),
        "m/s": ("mps",),
        "km/kWh": ("km_per_kwh",),
        "mi/kWh": ("mi_per_kwh",),
        "Wh/km": ("wh_per_km",),
        "Wh/mi": ("wh_per_mi",),
        "kWh/100km": ("kwh_per_100km",),
        "%/100km": ("pct_per_100km",),
        "km/%": ("km_per_pct",),
        "kWh": ("kwh",),
        "degC": ("degc",),
        "degF": ("degf",),
        "deg": ("deg",),
        "kg/m3": ("kg_per_m3", "kgm3"),
        "min": ("min",),
    }
)
"""How the names of columns end for a unit."""
_SINCE_BEGUN = frozenset({ELAPSED.name, "at_s"})
"""Seconds since the drive began, told as H:MM:SS; other seconds are times that pass."""
_ABBREVIATIONS = re.compile(r"\b(gps|utc|mpge|id)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class HeaderText:
    """One column's header: its words with the unit, what it means, and whether its cells are numbers."""

    text: str
    meaning: str
    numeric: bool


@dataclass(frozen=True, slots=True)
class TableText:
    """A table in words; each row is as long as `headers`."""

    title: str
    headers: tuple[HeaderText, ...]
    rows: tuple[tuple[str, ...], ...]


def table_text(table: Table, units: ShownUnits) -> TableText:
    """Return a table in words; columns in which nothing stands are left out."""
    kept = [
        index for index, _ in enumerate(table.columns) if any(row[index] is not None for row in table.rows)
    ]
    headers = tuple(_header(table.columns[index], units) for index in kept)
    rows = tuple(
        tuple(_cell(row[index], table.columns[index], units) for index in kept) for row in table.rows
    )
    return TableText(words(table.name), headers, rows)


def words(name: str) -> str:
    """Return a name for programs as one for people.

    >>> words("mean_gps_speed")
    'Mean GPS speed'
    """
    text = name.replace("_", " ").replace("-", " ").strip()
    return _ABBREVIATIONS.sub(lambda found: found[0].upper(), text[:1].upper() + text[1:])


def _header(column: Column, units: ShownUnits) -> HeaderText:
    name = column.name
    numeric = column.kind in {Kind.NUMBER, Kind.INTEGER}
    unit = "" if column.unit in {"s", "min"} else unit_text(units.of(column.unit))
    if name in _ENDINGS.get(column.unit, ()):  # a column named after nothing but its unit
        return HeaderText(unit or words(name), column.meaning, numeric)
    if name in _SINCE_BEGUN:
        return HeaderText("After", column.meaning, numeric)
    for ending in _ENDINGS.get(column.unit, ()):
        name = name.removesuffix(f"_{ending}")
    described = f" ({unit})" if unit and numeric and not unit.startswith("see ") else ""
    return HeaderText(words(name) + described, column.meaning, numeric)


def _cell(cell: Cell, column: Column, units: ShownUnits) -> str:
    if cell is None:
        return ""
    if column.kind is Kind.INSTANT and isinstance(cell, int):
        return format_utc(cell)
    if isinstance(cell, Decimal) and cell.is_finite():
        return _number(cell, column, units)
    return str(cell)


def _number(value: Decimal, column: Column, units: ShownUnits) -> str:
    """A number is told with no more decimals than it has, nor than are usual; said ones keep theirs where the unit stays."""
    if column.name in _SINCE_BEGUN:
        return elapsed_text(value)
    if column.unit == "s":
        return duration_text(float(value))
    if column.unit == "min":
        return time_of_day_text(value)
    has = max(0, -int(value.as_tuple().exponent))
    to = units.of(column.unit)
    try:
        told = units.convert(float(value), column.unit)
    except ValueError:
        return ""
    usual = max(0, decimals(told, to, 0.0))
    return number_text(told, min(has, usual) if to == column.unit else usual)
