"""The quantities of a car's dash and the units they are said in: the default sheet, as tables."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from grammar.readings import Quantity, Unit

UnitSystem = Literal["miles", "metric"]

PERCENT = Unit("%", ("percent",))
MILE = Unit("mi", ("miles", "mile"))
KILOMETRE = Unit("km", ("kilometers", "kilometer"))
MI_PER_KWH = Unit("mi/kWh", ("miles per kilowatt hour",))
KM_PER_KWH = Unit("km/kWh", ("kilometers per kilowatt hour",))
KWH_PER_100KM = Unit(
    "kWh/100km",
    (
        "kilowatt hours per hundred kilometers",
        "kilowatt hours per hundred",
        "kilowatt hours per one hundred kilometers",
        "kilowatt hours per a hundred kilometers",
    ),
)
WH_PER_MI = Unit("Wh/mi", ("watt hours per mile",))
WH_PER_KM = Unit("Wh/km", ("watt hours per kilometer",))
KWH = Unit("kWh", ("kilowatt hours", "kilowatt hour"))
DEG_F = Unit("degF", ("degrees fahrenheit", "fahrenheit"))
DEG_C = Unit("degC", ("degrees celsius", "celsius"))
MPH = Unit("mph", ("miles per hour",))
KM_PER_H = Unit("km/h", ("kilometers per hour",))
CLOCK_MINUTE = Unit("min", ())
"""A time of day is minutes after midnight; no unit is ever spoken."""

UNITS: dict[str, Unit] = {
    unit.symbol: unit
    for unit in (
        PERCENT,
        MILE,
        KILOMETRE,
        MI_PER_KWH,
        KM_PER_KWH,
        KWH_PER_100KM,
        WH_PER_MI,
        WH_PER_KM,
        KWH,
        DEG_F,
        DEG_C,
        MPH,
        KM_PER_H,
        CLOCK_MINUTE,
    )
}
"""Every unit a sheet may name, by its symbol."""

PLAIN_DEGREES = "degrees"
"""Said alone it means the sheet's own degrees: the first unit of a temperature."""

NOTE_KINDS: tuple[str, ...] = (
    "headwind",
    "tailwind",
    "crosswind",
    "wind shift",
    "detour",
    "stopped",
    "moving",
    "charging",
    "unplugged",
    "rain",
    "dry",
    "traffic",
    "hill",
    "descent",
    "trip reset",
    "turning round",
    "loop complete",
    "remark",
)


def _in_order(system: UnitSystem, imperial: tuple[Unit, ...], metric: tuple[Unit, ...]) -> tuple[Unit, ...]:
    return imperial + metric if system == "miles" else metric + imperial


def default_quantities(system: UnitSystem = "miles") -> tuple[Quantity, ...]:
    """Return the quantities called out when no sheet says otherwise; `system` puts its units first."""
    miles = system == "miles"
    distance = _in_order(system, (MILE,), (KILOMETRE,))
    degrees = _in_order(system, (DEG_F,), (DEG_C,))
    speed = _in_order(system, (MPH,), (KM_PER_H,))
    efficiency = _in_order(system, (MI_PER_KWH, WH_PER_MI), (KWH_PER_100KM, KM_PER_KWH, WH_PER_KM))
    coldest, hottest = ("-60", "140") if miles else ("-50", "60")
    return (
        Quantity(
            "charge",
            (PERCENT,),
            highest=100,
            keywords=("charge", "battery", "state of charge"),
            unit_needed=True,
            lowest_plausible=Decimal(0),
            highest_plausible=Decimal(100),
        ),
        Quantity(
            "trip",
            distance,
            highest=999,
            places=1,
            keywords=("trip",),
            lowest_plausible=Decimal(0),
        ),
        Quantity("odometer", distance, highest=999_999, keywords=("odometer",), bare=False),
        Quantity(
            "range_left",
            distance,
            highest=999,
            keywords=("range", "predicted"),
            after=("left", "remaining", "to go"),
        ),
        Quantity("efficiency", efficiency, highest=999, places=2, keywords=("efficiency",)),
        Quantity("energy_used", (KWH,), highest=199, places=1, keywords=("energy",)),
        Quantity(
            "outside_temperature",
            degrees,
            highest=199,
            places=1,
            signed=True,
            keywords=("outside",),
            bare=False,
            keyword_after=True,
            lowest_plausible=Decimal(coldest),
            highest_plausible=Decimal(hottest),
        ),
        Quantity(
            "battery_temperature",
            degrees,
            highest=199,
            places=1,
            signed=True,
            keywords=("battery temperature", "battery"),
            bare=False,
            unit_needed=True,
            lowest_plausible=Decimal(coldest),
            highest_plausible=Decimal("176" if miles else "80"),
        ),
        Quantity("indicated_speed", speed, highest=199, keywords=("indicated",)),
        Quantity("clock", (CLOCK_MINUTE,), highest=99, keywords=("time", "clock"), clock=True),
    )
