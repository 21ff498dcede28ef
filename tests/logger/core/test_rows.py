"""Entries become rows: the columns the issue asks for, units as chosen, nothing lost."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from grammar.quantities import default_quantities
from logger.core.columns import EVIDENCE, LOG, QUANTITIES, WIDE
from logger.core.rows import Evidence, long_table, wide_table
from logger.core.table import Cell, Table
from logger.model import Alternative, Drive, Entry, Origin, Place, Status

BEGAN = 1_935_562_800_000_000_000
DRIVE = Drive(BEGAN, "")
PLACE = Place(47.1234567890, -8.9876543210, 97_345.6789, 29.0, 1.0)


def entry(
    number: str, quantity: str, value: str | None, unit: str = "", *, at_s: float = 60.0, **changes: object
) -> Entry:
    """An accepted entry that was heard; what is not told is not there."""
    made = Entry(
        id=number,
        utterance_id=int(number.split("-", maxsplit=1)[0]),
        at_ns=int(at_s * 1e9),
        quantity=quantity,
        value=None if value is None else Decimal(value),
        unit=unit,
        status=Status.ACCEPTED,
        confidence=0.97531,
        origin=Origin.HEARD,
        heard="these words",
        note="",
        reason="",
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def here(_utc_ns: int) -> Place | None:
    """The same place all the time."""
    return PLACE


def nowhere(_utc_ns: int) -> Place | None:
    """No track."""
    return None


def only(table: Table) -> dict[str, Cell]:
    """The one row of a table, by column name."""
    (row,) = table.rows
    return dict(zip([column.name for column in table.columns], row, strict=True))


def test_the_columns_and_their_order() -> None:
    """The long form begins with exactly the columns that the issue lists, in its order."""
    asked = [
        "entry_id",
        "at",
        "elapsed_s",
        "quantity",
        "value",
        "unit",
        "status",
        "confidence",
        "origin",
        "heard",
        "lat_deg",
        "lon_deg",
        "gps_distance_km",
        "note",
        "reason",
    ]

    assert asked == [column.name for column in LOG]
    assert LOG == long_table([], DRIVE, here).columns
    assert () == long_table([], DRIVE, here).rows


def test_the_quantities_are_those_of_the_grammar() -> None:
    """Every quantity and unit that can be called out by default has its columns, and no other."""
    for system in ("miles", "metric"):
        called = {part.name: {unit.symbol for unit in part.units} for part in default_quantities(system)}

        assert {name: set(units) for name, units in QUANTITIES.items()} == called


def test_one_entry() -> None:
    """Time is kept to the nanosecond, the value as said, places and shares with their own decimals."""
    told = replace(entry("12-1", "trip", "97.20", "mi", at_s=1.0005), note="n", reason="r")

    assert {
        "entry_id": "12-1",
        "at": BEGAN + 1_000_500_000,
        "elapsed_s": Decimal("1.001"),
        "quantity": "trip",
        "value": Decimal("97.20"),
        "unit": "mi",
        "status": "accepted",
        "confidence": Decimal("0.9753"),
        "origin": "heard",
        "heard": "these words",
        "lat_deg": Decimal("47.1234568"),
        "lon_deg": Decimal("-8.9876543"),
        "gps_distance_km": Decimal("97.346"),
        "note": "n",
        "reason": "r",
    } == only(long_table([told], DRIVE, here))
    assert "97.20" == str(only(long_table([told], DRIVE, here))["value"])


def test_the_place_is_asked_for_at_the_time_of_the_reading() -> None:
    """The track is asked in nanoseconds of UTC, for each entry's own instant."""
    asked: list[int] = []

    def place_at(utc_ns: int) -> Place | None:
        asked.append(utc_ns)
        return None

    long_table(
        [entry("1-1", "charge", "63", "%", at_s=5), entry("1-2", "trip", "1", "km", at_s=7)], DRIVE, place_at
    )

    assert [BEGAN + 5_000_000_000, BEGAN + 7_000_000_000] == asked


@pytest.mark.parametrize("place", [None, replace(PLACE, gap_s=60.1)])
def test_no_place(place: Place | None) -> None:
    """Without a track, and in a gap of it longer than a minute, no place is made up."""
    row = only(long_table([entry("1-1", "charge", "63", "%")], DRIVE, lambda _: place))

    assert [None] * 3 == [row[name] for name in ("lat_deg", "lon_deg", "gps_distance_km")]


def test_zero_has_no_sign() -> None:
    """A hair west of the meridian is 0, not -0."""
    place = replace(PLACE, lon_deg=-1e-12)

    row = only(long_table([entry("1-1", "charge", "0", "%")], DRIVE, lambda _: place))

    assert "0.0000000" == format(row["lon_deg"], "f")


def test_absent_texts_are_none() -> None:
    """A note has no value and no unit, and what is empty is absent."""
    row = only(long_table([entry("3-1", "note", None, "mi", note="headwind", heard="")], DRIVE, nowhere))

    assert (None, None, None, "headwind", None) == (
        row["value"],
        row["unit"],
        row["heard"],
        row["note"],
        row["reason"],
    )


@pytest.mark.parametrize(
    ("value", "unit", "distances", "expected"),
    [
        ("97.2", "mi", "km", ("156.4", "km")),
        ("97.2", "mi", None, ("97.2", "mi")),
        ("97.2", "mi", "mi", ("97.2", "mi")),
        ("20.7", "kWh/100km", "mi", ("333", "Wh/mi")),
        ("44", "degF", "km", ("44", "degF")),
        ("70", "mph", "km", ("113", "km/h")),
        ("5.0", "bar", "km", ("5.0", "bar")),
    ],
)
def test_units_as_chosen(value: str, unit: str, distances: object, expected: tuple[str, str]) -> None:
    """Distances, speeds and efficiencies are converted; temperatures and the rest stay as said."""
    row = only(
        long_table([entry("1-1", "trip", value, unit)], DRIVE, here, distances=distances)  # type: ignore[arg-type]
    )

    assert expected == (str(row["value"]), row["unit"])


def test_rejected_entries() -> None:
    """They are left out, and come back with the evidence."""
    entries = [
        entry("1-1", "charge", "63", "%", status=Status.REJECTED),
        entry("1-2", "trip", "97.2", "mi", status=Status.FLAGGED),
    ]

    assert ("1-2",) == long_table(entries, DRIVE, here).column("entry_id")
    assert ("1-1", "1-2") == long_table(entries, DRIVE, here, evidence={}).column("entry_id")


def test_the_evidence() -> None:
    """With evidence come the alternatives as JSON (converted as the value is), the utterance, the clip and the recogniser."""
    others = (
        Alternative(Decimal("87.0"), "mi", 'eighty "seven" miles', 0.25),
        Alternative(Decimal(90), "%", "ninety percent", 0.0),
    )
    table = long_table(
        [entry("4-1", "trip", "97.0", "mi", alternatives=others), entry("5-1", "charge", "9", "%")],
        DRIVE,
        here,
        distances="km",
        evidence={4: Evidence("clips/4.flac", "pocketsphinx")},
    )

    assert LOG + EVIDENCE == table.columns
    text = str(table.column("alternatives")[0])
    assert [
        {"value": 140.0, "unit": "km", "heard": 'eighty "seven" miles', "confidence": 0.25},
        {"value": 90, "unit": "%", "heard": "ninety percent", "confidence": 0.0},
    ] == json.loads(text)
    assert '"value": 140.0,' in text
    assert ("[]", 5, None, None, "[]") == table.rows[1][-5:]
    assert (4, "clips/4.flac", "pocketsphinx") == table.rows[0][-4:-1]


def test_one_row_per_checkpoint() -> None:
    """Readings of one utterance share a row, at the time and place of the first of them."""
    table = wide_table(
        [
            entry("7-1", "trip", "97.2", "mi", at_s=100),
            entry("7-2", "charge", "63.0", "%", at_s=102, status=Status.FLAGGED),
            entry("9-1", "charge", "61", "%", at_s=200),
        ],
        DRIVE,
        here,
    )

    assert [
        "checkpoint",
        "at",
        "elapsed_s",
        "lat_deg",
        "lon_deg",
        "gps_distance_km",
        "charge_pct",
        "trip_mi",
        "flagged",
        "note",
    ] == [column.name for column in table.columns]
    assert (7, BEGAN + 100_000_000_000, Decimal(100)) == table.rows[0][:3]
    assert (Decimal("63.0"), Decimal("97.2"), "charge", None) == table.rows[0][-4:]
    assert (Decimal(61), None, None, None) == table.rows[1][-4:]


def test_mixed_units_go_to_the_first() -> None:
    """A column is in the unit that its quantity was first said in, by time and not by the order given."""
    table = wide_table(
        [
            entry("2-1", "trip", "97.2", "mi", at_s=20),
            entry("1-1", "trip", "150.0", "km", at_s=10),
            entry("3-1", "efficiency", "3.4", "mi/kWh", at_s=30),
            entry("4-1", "efficiency", "18.3", "kWh/100km", at_s=40),
        ],
        DRIVE,
        here,
    )

    assert (1, 2, 3, 4) == table.column("checkpoint")
    assert (Decimal("150.0"), Decimal("156.4"), None, None) == table.column("trip_km")
    assert (None, None, Decimal("3.4"), Decimal("3.40")) == table.column("efficiency_mi_per_kwh")


def test_a_choice_of_units_names_the_columns() -> None:
    """With a choice, the column is in that unit from the first value on."""
    table = wide_table([entry("1-1", "range_left", "109", "mi")], DRIVE, here, distances="km")

    assert (Decimal(175),) == table.column("range_left_km")


def test_what_cannot_be_shown_is_named() -> None:
    """A reciprocal of zero and a quantity said twice in one breath are named under `flagged`; the later value is shown."""
    table = wide_table(
        [
            entry("1-1", "efficiency", "3.4", "mi/kWh", at_s=1),
            entry("2-1", "efficiency", "0", "kWh/100km", at_s=2),
            entry("3-1", "charge", "63", "%", at_s=3),
            entry("3-2", "charge", "64", "%", at_s=4),
        ],
        DRIVE,
        here,
    )

    assert (None, "efficiency", "charge") == table.column("flagged")
    assert (Decimal("3.4"), None, None) == table.column("efficiency_mi_per_kwh")
    assert (None, None, Decimal(64)) == table.column("charge_pct")


def test_notes_and_unheard_calls_have_rows() -> None:
    """Nothing vanishes: a note of its own, a call without a meaning, and a reading without a value each have a row."""
    table = wide_table(
        [
            entry("1-1", "note", None, note="headwind", at_s=1),
            entry("1-2", "note", None, note="rain", at_s=2),
            entry("2-1", "unheard", None, status=Status.FLAGGED, at_s=3),
            entry("3-1", "charge", None, status=Status.FLAGGED, at_s=4),
            entry("4-1", "charge", "9", "%", status=Status.REJECTED, at_s=5),
        ],
        DRIVE,
        here,
    )

    assert (1, 2, 3) == table.column("checkpoint")
    assert ("headwind; rain", None, None) == table.column("note")
    assert (None, "unheard", "charge") == table.column("flagged")
    assert ["flagged", "note"] == [column.name for column in table.columns[-2:]]
    with pytest.raises(KeyError):
        table.column("charge_pct")


def test_every_wide_column_is_defined() -> None:
    """Each quantity in each of its units gives a column of the documented set, and no two share a name."""
    names = [column.name for column in WIDE]
    for quantity, units in QUANTITIES.items():
        for unit in units:
            table = wide_table([entry("1-1", quantity, "5", unit)], DRIVE, here)
            assert set(table.columns) <= set(WIDE)
    assert len(names) == len(set(names))


def test_a_quantity_of_ones_own() -> None:
    """What only a sheet knows comes after the known ones, in its own unit."""
    table = wide_table(
        [entry("1-1", "tyre_pressure", "2.5", "bar"), entry("1-2", "charge", "5", "%", at_s=61)], DRIVE, here
    )

    assert ["charge_pct", "tyre_pressure_bar"] == [column.name for column in table.columns[6:8]]
