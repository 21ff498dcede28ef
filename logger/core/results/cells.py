"""Figures as cells of a table. Pure."""

from __future__ import annotations

import math

from logger.core.table import Cell, Column, Kind, fixed


def number(value: float | None, places: int) -> Cell:
    """Return a number with so many decimals; None for none and for what is no number."""
    if value is None or not math.isfinite(value):
        return None
    return fixed(value, places)


def measure(name: str, unit: str, meaning: str, absent: str = "never") -> Column:
    """Return a column of numbers."""
    return Column(name, Kind.NUMBER, unit, meaning, absent)


def text(name: str, meaning: str, absent: str = "never") -> Column:
    """Return a column of texts."""
    return Column(name, Kind.TEXT, "", meaning, absent)
