"""Sheets: every mistake is one line that names line and key."""

from __future__ import annotations

from decimal import Decimal

import pytest

from logger.core.sheet import default_sheet, parse_sheet
from logger.core.way import Way
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
        ("[loop]", "s.toml:1: loop: length is missing, as in length = "),
        ("[loop]\nlength = 43.5", "s.toml:2: loop.length: must be a text with a unit (mi, km), as in"),
        ("[loop]\nlength = '43.5 %'", "s.toml:2: loop.length: must be a text with a unit (mi, km), as in"),
        ("[loop]\nlength = '1.9 km'", "s.toml:2: loop.length: must be 2 km or more"),
        (
            "[loop]\nlenght = '43 mi'",
            "s.toml:2: loop.lenght: is not a key of a sheet; did you mean 'length'?",
        ),
        ("[out_and_back]\nreserve = '51 %'", "s.toml:2: out_and_back.reserve: must be 50 % or less"),
        (
            "[out_and_back]\nreserve = '-5 %'",
            "s.toml:2: out_and_back.reserve: must be a text with a unit (%, mi, km)",
        ),
        ("[out_and_back]\nlength = '4 mi'", "s.toml:2: out_and_back.length: is not a key"),
        ("[out_and_back]\nstart = [91, 0]", "s.toml:2: out_and_back.start: must be latitude and longitude"),
        (
            "[out_and_back]\nstart = ['a', 'b']",
            "s.toml:2: out_and_back.start: must be latitude and longitude",
        ),
        (
            "[out_and_back]\nstart = [nan, 1.0]",
            "s.toml:2: out_and_back.start: must be latitude and longitude",
        ),
        (
            "[loop]\nlength = '9 mi'\n[out_and_back]",
            "s.toml:3: out_and_back: a sheet has either a loop or out_and_back",
        ),
        ("loop = 43", "s.toml:1: loop: must be a table"),
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


@pytest.mark.parametrize(
    ("text", "way"),
    [
        ("[out_and_back]", Way(None, 20.0)),
        ("[out_and_back]\nreserve = '12.5%'", Way(None, 12.5)),
        ("[out_and_back]\nreserve = '0 %'", Way(None, 0.0)),
        ("[loop]\nlength = '40 km'", Way(40_000.0, 10.0)),
        (
            "[loop]\nlength = '2 mi'\nreserve = '8 km'\nstart = [52.2, -1]",
            Way(3218.688, 0.0, 8000.0, (52.2, -1.0)),
        ),
        ("", None),
    ],
)
def test_the_way_back(text: str, way: Way | None) -> None:
    """A loop or out and back, with the reserve as charge or as a distance; each has its own default."""
    assert way == parse_sheet(text).way
