"""Figures in sentences follow the reader's units; what was said stays as it was said."""

from __future__ import annotations

import pytest

from logger.core.reporting.figure_words import ShownUnits
from logger.core.reporting.sentence_words import sentence_text

MI = ShownUnits("mi", "degF")


@pytest.mark.parametrize(
    ("text", "units", "told"),
    [
        ("At {205.4 km}.", ShownUnits("km"), "At 205.4 km."),
        ("At {205.4 km}.", MI, "At 127.6 mi."),
        ("Between {20 km} and {300 km}.", MI, "Between 12.4 mi and 186.4 mi."),
        ("Wind of {-3.5 m/s}, {10 degC}.", MI, "Wind of \N{MINUS SIGN}7.8 mph, 50.0 \N{DEGREE SIGN}F."),
        ("{0 km/kWh} is none.", MI, "0.00 mi/kWh is none."),
        ("Read off as 63 km, noted {here} and {5}.", MI, "Read off as 63 km, noted {here} and {5}."),
    ],
)
def test_only_what_is_marked_is_converted(text: str, units: ShownUnits, told: str) -> None:
    """A number with a base unit in braces, and nothing else."""
    assert told == sentence_text(text, units)
