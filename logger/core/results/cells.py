"""Figures as cells of a table. Pure."""

from __future__ import annotations

import math
from decimal import Decimal

from logger.core.table import Cell, Column, Kind


def number(value: float | None, places: int) -> Cell:
    """Return a number with so many decimals; None for none and for what is no number."""
    if value is None or not math.isfinite(value):
        return None
    text = f"{value:.{places}f}"
    return abs(Decimal(text)) if not float(text) else Decimal(text)  # no "-0.0"


def measure(name: str, unit: str, meaning: str, absent: str = "never") -> Column:
    """Return a column of numbers."""
    return Column(name, Kind.NUMBER, unit, meaning, absent)


def text(name: str, meaning: str, absent: str = "never") -> Column:
    """Return a column of texts."""
    return Column(name, Kind.TEXT, "", meaning, absent)
