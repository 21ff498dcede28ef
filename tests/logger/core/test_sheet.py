"""Sheets: every mistake is one line that names line and key."""

from __future__ import annotations

from decimal import Decimal

import pytest

from logger.core.sheet import default_sheet, parse_sheet
from logger.errors import SheetError


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("lead = 3", "s.toml:1: lead: must be a text"),
        ("leed = 'x'", "s.toml:1: leed: is not a key of a sheet; did you mean 'lead'?"),
        ("units = 'furlongs'", "s.toml:1: units: must be one of miles, metric"),
        ("\n[quantity.trip]\nunit = 'kWh'", "s.toml:3: quantity.trip.unit: 'kWh' is no unit of trip"),
        ("[quantity.trap]", "s.toml:1: quantity.trap: is not a key"),
        ("[quantity.trip]\nlowest = 9\nhighest = 1", "s.toml:2: quantity.trip.lowest: 9 is above"),
        ("[quantity.trip]\ndecimals = 7", "s.toml:2: quantity.trip.decimals: must be a whole number"),
        ("[quantity.trip]\nhighest = inf", "s.toml:2: quantity.trip.highest: must be a number"),
        ("lead = ", "s.toml: not valid TOML"),
        ("only = ['tripp']", "s.toml:1: only: there is no quantity 'tripp'; did you mean 'trip'?"),
    ],
)
def test_mistakes_name_line_and_key(text: str, message: str) -> None:
    """One clear line, with a guess where a name is near."""
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "s.toml")

    assert str(caught.value).startswith(message)
    assert "\n" not in str(caught.value)


def test_a_sheet_changes_what_it_names_and_nothing_else() -> None:
    """Limits, units and decimals of one quantity."""
    sheet = parse_sheet(
        "units = 'metric'\n[quantity.trip]\nhighest = 420\ndecimals = 0\n[test]\ncar = 'Pebble'"
    )
    trip = sheet.phrasebook.quantity("trip")

    assert (Decimal(420), 0, "km") == (trip.highest_plausible, trip.places, trip.unit)
    assert "Pebble" == sheet.test["car"]
    assert "checkpoint" == sheet.phrasebook.lead == default_sheet().phrasebook.lead
