"""Every column a log can have, defined once: the rows, the schemas and docs/formats.md all follow this. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from logger.core.table import Column, Kind
from logger.core.units import Distances
from logger.model import Origin, Status

NOTE = "note"
UNHEARD = "unheard"

QUANTITIES = MappingProxyType(
    {
        "charge": ("%",),
        "trip": ("mi", "km"),
        "odometer": ("mi", "km"),
        "range_left": ("mi", "km"),
        "efficiency": ("mi/kWh", "Wh/mi", "kWh/100km", "km/kWh", "Wh/km"),
        "energy_used": ("kWh",),
        "outside_temperature": ("degF", "degC"),
        "battery_temperature": ("degF", "degC"),
        "indicated_speed": ("mph", "km/h"),
        "clock": ("min",),
    }
)
"""The quantities and the units each can be said in."""

_UNIT_IN_NAME = {
    "%": "pct",
    "mi/kWh": "mi_per_kwh",
    "km/kWh": "km_per_kwh",
    "kWh/100km": "kwh_per_100km",
    "Wh/mi": "wh_per_mi",
    "Wh/km": "wh_per_km",
    "km/h": "kmh",
}

ENTRY_ID = Column(
    "entry_id",
    Kind.TEXT,
    "",
    "Names the entry: the number of its utterance, a dash, and its place among the readings in it.",
    unique=True,
)
AT = Column(
    "at",
    Kind.INSTANT,
    "",
    "When the first word of the reading was spoken: RFC 3339, UTC, rounded to milliseconds.",
)
ELAPSED = Column("elapsed_s", Kind.NUMBER, "s", "The same instant as seconds since the drive began.")
_NO_PLACE = "the track has no fix near that time"
LAT = Column(
    "lat_deg",
    Kind.NUMBER,
    "deg",
    "Latitude there and then, WGS 84, north positive.",
    _NO_PLACE,
    lowest=-90,
    highest=90,
)
LON = Column(
    "lon_deg",
    Kind.NUMBER,
    "deg",
    "Longitude there and then, WGS 84, east positive.",
    _NO_PLACE,
    lowest=-180,
    highest=180,
)
GPS_DISTANCE = Column(
    "gps_distance_km",
    Kind.NUMBER,
    "km",
    "Distance driven since the track began, by GPS; kilometres whatever the other units.",
    _NO_PLACE,
    lowest=0,
)

DRIVE = Column(
    "drive",
    Kind.TEXT,
    "",
    "Which drive the row is from: the name of its folder, made safe and unique.",
)
"""The column that comes first where a table holds several drives."""

LOG = (
    ENTRY_ID,
    AT,
    ELAPSED,
    Column(
        "quantity",
        Kind.TEXT,
        "",
        "What was read off, `note` for a spoken note, `unheard` for a call that no meaning could be given to.",
        choices=(*QUANTITIES, NOTE, UNHEARD),
    ),
    Column(
        "value",
        Kind.NUMBER,
        "see `unit`",
        "The value, with the decimals that were said; a `clock` is minutes after midnight.",
        "`note`, `unheard`, or no value could be settled on",
    ),
    Column("unit", Kind.TEXT, "", "The unit of `value`.", "there is no value"),
    Column(
        "status",
        Kind.TEXT,
        "",
        "What is known of the value: `accepted`, `flagged` (in doubt), `corrected` (by a person), `rejected`.",
        choices=tuple(Status),
    ),
    Column(
        "confidence",
        Kind.NUMBER,
        "",
        "How sure odovox is of the value, 0 to 1.",
        lowest=0,
        highest=1,
    ),
    Column(
        "origin",
        Kind.TEXT,
        "",
        "Where the value comes from: `heard` (first answer of the recogniser), `repaired` (another answer of it), "
        "`spoken_correction` (said during the drive), `typed` (after it).",
        choices=tuple(Origin),
    ),
    Column("heard", Kind.TEXT, "", "The words it was understood from.", "nothing was heard, or it was typed"),
    LAT,
    LON,
    GPS_DISTANCE,
    Column("note", Kind.TEXT, "", "What a note says.", "there is none"),
    Column(
        "reason", Kind.TEXT, "", "One sentence: why the entry is in doubt or was changed.", "there is none"
    ),
)
"""The long form: one row per entry."""

EVIDENCE = (
    Column(
        "alternatives",
        Kind.JSON,
        "",
        "What else it may have been, best first: a JSON array of objects with `value`, `unit`, `heard`, `confidence`.",
    ),
    Column(
        "utterance_id",
        Kind.INTEGER,
        "",
        "The utterance it was said in: `utterance.id` in the store.",
        lowest=1,
    ),
    Column("clip", Kind.TEXT, "", "The kept sound, a path inside the drive folder.", "no sound was kept"),
    Column("recogniser", Kind.TEXT, "", "Which recogniser and model heard it.", "none was run on it"),
    Column(
        "decisions",
        Kind.JSON,
        "",
        "What people decided about it, in that order: a JSON array of objects with `id`, `at`, `who`, `action`, `before` "
        "(what the entry was: `status`, `quantity`, `value`, `unit`, `note`), `quantity`, `value`, `unit`, `note`, `words` "
        "(as typed), `why`, `withdraws`, `withdrawn_by`.",
    ),
)
"""The columns that `--all` adds to the long form."""

CHECKPOINT = Column(
    "checkpoint",
    Kind.INTEGER,
    "",
    "The utterance the row is about: `utterance.id` in the store.",
    unique=True,
    lowest=1,
)
WIDE_START = (CHECKPOINT, AT, ELAPSED, LAT, LON, GPS_DISTANCE)
WIDE_END = (
    Column(
        "flagged",
        Kind.TEXT,
        "",
        "The quantities of this row that are in doubt, separated by spaces; `unheard` for a call without a meaning.",
        "nothing is in doubt",
    ),
    Column("note", Kind.TEXT, "", "What was noted, several notes separated by `; `.", "there is none"),
)


def with_unit(name: str, unit: str) -> str:
    """Return the name of a column of numbers in a unit: `trip_km`, `charge_pct`; without one, the name itself."""
    return f"{name}_{_UNIT_IN_NAME.get(unit, unit.lower())}" if unit else name


def reading_column(quantity: str, unit: str) -> Column:
    """Return the column of the wide form for a quantity in a unit, named after both."""
    name = with_unit(quantity, unit)
    spoken = quantity.replace("_", " ")
    meaning = (
        "The clock time read off, as minutes after midnight."
        if quantity == "clock"
        else f"The {spoken} read off, in {unit or 'no unit'}."
    )
    return Column(name, Kind.NUMBER, unit, meaning, "it was not read off, or has no value")


WIDE = (
    *WIDE_START,
    *(reading_column(quantity, unit) for quantity, units in QUANTITIES.items() for unit in units),
    *WIDE_END,
)
"""Every column the wide form can have; a log has those of the quantities in it, each in one unit."""

QUANTITY_OF = MappingProxyType(
    {
        reading_column(quantity, unit).name: quantity
        for quantity, units in QUANTITIES.items()
        for unit in units
    }
)
"""The quantity of each column of the wide form that holds readings."""

SHARED_UNITS: Mapping[Distances, Mapping[str, str]] = MappingProxyType(
    {
        "mi": MappingProxyType(
            {
                **{quantity: units[0] for quantity, units in QUANTITIES.items()},
                "outside_temperature": "degF",
                "battery_temperature": "degF",
            }
        ),
        "km": MappingProxyType(
            {
                **{quantity: units[0] for quantity, units in QUANTITIES.items()},
                "trip": "km",
                "odometer": "km",
                "range_left": "km",
                "efficiency": "kWh/100km",
                "outside_temperature": "degC",
                "battery_temperature": "degC",
                "indicated_speed": "km/h",
            }
        ),
    }
)
"""The one unit that each quantity has where the wide forms of several drives must have the same columns."""
