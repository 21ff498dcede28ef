"""Tables are told with headers in words and cells in people's units."""

from __future__ import annotations

from decimal import Decimal

import pytest

from logger.core.columns import ELAPSED
from logger.core.reporting.figure_words import ShownUnits
from logger.core.reporting.table_words import table_text, words
from logger.core.table import Cell, Column, Kind, Table

KM = ShownUnits("km")
MI = ShownUnits("mi", "degF")


def one(column: Column, cell: Cell, units: ShownUnits) -> tuple[str, str]:
    """The header and the cell of a table of one cell."""
    told = table_text(Table("some_table", (column,), ((cell,),)), units)
    return told.headers[0].text, told.rows[0][0]


def number(name: str, unit: str) -> Column:
    """A column of numbers."""
    return Column(name, Kind.NUMBER, unit, "Something.")


@pytest.mark.parametrize(
    ("column", "cell", "units", "told"),
    [
        (number("distance_km", "km"), Decimal("24.9"), KM, ("Distance (km)", "24.9")),
        (number("distance_km", "km"), Decimal("24.9"), MI, ("Distance (mi)", "15.5")),
        (number("distance_km", "km"), Decimal("24.93456"), KM, ("Distance (km)", "24.9")),
        (number("trip_km", "km"), Decimal(24), KM, ("Trip (km)", "24")),
        (number("outside_temperature_degc", "degC"), Decimal(-3), MI, ("Outside temperature (°F)", "26.6")),
        (number("mean_gps_speed_kmh", "km/h"), Decimal(90), MI, ("Mean GPS speed (mph)", "55.9")),
        (number("from_pct", "%"), Decimal(90), MI, ("From (%)", "90")),
        (number("use_wh_per_km", "Wh/km"), Decimal(160), MI, ("Use (Wh/mi)", "257")),
        (number("driven_s", "s"), Decimal(7499), KM, ("Driven", "2 h 05 min")),
        (number("clock_min", "min"), Decimal(460), KM, ("Clock", "07:40")),
        (number("value", "see `unit`"), Decimal("3.1"), MI, ("Value", "3.1")),
        (ELAPSED, Decimal("3725.2"), KM, ("After", "1:02:05")),
        (number("km_per_pct", "km/%"), Decimal("2.5"), MI, ("mi per %", "1.55")),
        (
            Column("at", Kind.INSTANT, "", "When."),
            1_777_800_000_000_000_000,
            KM,
            ("At", "2026-05-03T09:20:00.000Z"),
        ),
        (Column("count", Kind.INTEGER, "", "How many."), 3, KM, ("Count", "3")),
        (Column("leg", Kind.TEXT, "", "Which."), "out", KM, ("Leg", "out")),
    ],
)
def test_headers_and_cells(column: Column, cell: Cell, units: ShownUnits, told: tuple[str, str]) -> None:
    """The unit leaves the name and stands in parentheses; no cell has more decimals than it had, nor than are usual."""
    assert told == one(column, cell, units)


def test_a_column_in_which_nothing_stands_is_left_out() -> None:
    """A cell that is absent is empty; a column of such is not shown."""
    columns = (number("distance_km", "km"), number("climb_m", "m"), number("charge_pct", "%"))
    told = table_text(Table("legs", columns, ((Decimal(1), None, None), (None, None, Decimal(3)))), KM)

    assert "Legs" == told.title
    assert ["Distance (km)", "Charge (%)"] == [each.text for each in told.headers]
    assert (("1", ""), ("", "3")) == told.rows


def test_what_cannot_be_told_in_a_unit_is_empty() -> None:
    """0 kWh/100km has no value in Wh/mi other than 0; the reciprocal of 0 has none."""
    assert "0" == one(number("use_kwh_per_100km", "kWh/100km"), Decimal(0), MI)[1]


def test_names_for_people() -> None:
    """Abbreviations keep their capitals."""
    assert "Mean GPS speed" == words("mean_gps_speed")
    assert "Charge bands" == words("charge-bands")
