"""Figures in sentences follow the reader's units; what was said stays as it was said."""

from __future__ import annotations

import pytest

from logger.core.reporting.figure_words import ShownUnits
from logger.core.reporting.sentence_words import doubt_text, sentence_text

KM = ShownUnits("km")
MI = ShownUnits("mi", "degF")


@pytest.mark.parametrize(
    ("text", "units", "told"),
    [
        ("At 205.4 km.", KM, "At 205.4 km."),
        ("At 205.4 km.", MI, "At 127.6 mi."),
        ("Between 20 km and 300 km (0 %).", MI, "Between 12.4 mi and 186.4 mi (0 %)."),
        ("Only 0.47 km by GPS.", MI, "Only 0.29 mi by GPS."),
        ("Less than 5 m, wind of -3.5 m/s.", MI, "Less than 16 ft, wind of \N{MINUS SIGN}7.8 mph."),
        ("Wind of -3.5 m/s.", KM, "Wind of \N{MINUS SIGN}3.5 m/s."),
        ("Time within 2 km/h of the target", MI, "Time within 1.2 mph of the target"),
        ("By 35 Wh/km.", MI, "By 56 Wh/mi."),
        ("Read off as 11.0 kWh/100km, 63 mi.", MI, "Read off as 11.0 kWh/100 km, 63 mi."),
        ("At 20 degC, 1.2 kg/m3.", MI, "At 20 \N{DEGREE SIGN}C, 1.2 kg/m³."),
        ("Write usable_kwh, 5 minutes, F2 m.", MI, "Write usable_kwh, 5 minutes, F2 m."),
    ],
)
def test_base_units_become_the_readers(text: str, units: ShownUnits, told: str) -> None:
    """Distances, heights, speeds and consumption with a number before them, and nothing else."""
    assert told == sentence_text(text, units)


def test_what_was_said_stays() -> None:
    """A doubt names first what was heard."""
    told = doubt_text("Entry 4-2, trip 63 km or 53 km: the range changes by at most 16.1 km.", MI)
    assert "Entry 4-2, trip 63 km or 53 km: the range changes by at most 10.0 mi." == told
    assert "The sheet's length of 10.0 mi counts." == doubt_text("The sheet's length of 16.1 km counts.", MI)
