"""Figures inside the sentences of results are told in the reader's units. Pure."""

from __future__ import annotations

import re

from logger.core.reporting.figure_words import MINUS, ShownUnits, decimals, number_text, unit_text

_HELD = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?) (km/h|km|Wh/km|m/s|m)\b(?![/\w])")
_SPELLED = re.compile(r"(?<=\d )(degC|degF|kg/m3|kWh/100km)\b")


def sentence_text(text: str, units: ShownUnits) -> str:
    """Return a sentence with its figures, which are in base units, told in the units asked for; other units are spelled out.

    >>> sentence_text("Scaled from the 94 % at the start (driven 472.7 km).", ShownUnits("mi"))
    'Scaled from the 94 % at the start (driven 293.7 mi).'
    """
    told = _HELD.sub(lambda found: _told(found[1], found[2], units), text)
    return _SPELLED.sub(lambda found: unit_text(found[1]), told)


def doubt_text(text: str, units: ShownUnits) -> str:
    """Return what is said of a doubt: before its last colon stands what was said, which stays, behind it what that may change.

    >>> doubt_text("Entry 4-2, trip 63 km: the range changes by at most 16.1 km.", ShownUnits("mi"))
    'Entry 4-2, trip 63 km: the range changes by at most 10.0 mi.'
    """
    said, colon, change = text.rpartition(": ")
    return said + colon + sentence_text(change, units)


def _told(number: str, unit: str, units: ShownUnits) -> str:
    to = units.of(unit)
    if to == unit:
        return f"{number.replace('-', MINUS)} {unit_text(unit)}"
    value = units.convert(float(number), unit)
    has = len(number.partition(".")[2])
    return f"{number_text(value, max(has, decimals(value, to, 0.0)))} {unit_text(to)}"
