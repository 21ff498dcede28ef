"""Figures that stand inside a sentence of the results are told in the reader's units. Pure."""

from __future__ import annotations

import re

from logger.core.reporting.figure_words import MINUS, ShownUnits, decimals, number_text, unit_text

_HELD = re.compile(r"\{(-?\d+(?:\.\d+)?) ([^{}\s]+)\}")


def sentence_text(text: str, units: ShownUnits) -> str:
    """Return a sentence in which each `{205.4 km}` is told in the units asked for; all else in it stays as it is.

    >>> sentence_text("Projected {205.4 km}, read off as 63 km.", ShownUnits("mi"))
    'Projected 127.6 mi, read off as 63 km.'
    """
    return _HELD.sub(lambda found: _told(found[1], found[2], units), text)


def _told(number: str, unit: str, units: ShownUnits) -> str:
    to = units.of(unit)
    try:
        value = units.convert(float(number), unit)
    except ValueError:  # the reciprocal of 0
        to, value = unit, float(number)
    if to == unit:
        return f"{number.replace('-', MINUS)} {unit_text(unit)}"
    return f"{number_text(value, max(0, decimals(value, to, 0.0)))} {unit_text(to)}"
