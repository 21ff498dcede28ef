"""What is said in the sample, in order: who, when, and what of the dash. The values come from `loop`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

FIRST, PASSENGER = "espeak-en-us-f2", "flite-awb"
SECOND, THIRD = "espeak-en-us-m3", "flite-kal16"
"""Four speakers: the driver's seat changes hands twice in this sample, which real drives do not do."""

CHARGE = ("charge", "%")
TRIP = ("trip", "km")
TRIP_MI = ("trip", "mi")
RANGE = ("range_left", "km")
RANGE_MI = ("range_left", "mi")
EFFICIENCY = ("efficiency", "kWh/100km")
ENERGY = ("energy_used", "kWh")
OUTSIDE = ("outside_temperature", "degC")
BATTERY = ("battery_temperature", "degC")
INDICATED = ("indicated_speed", "km/h")
CLOCK = ("clock", "min")
ODOMETER = ("odometer", "km")


@dataclass(frozen=True, slots=True)
class Turn:
    """One thing said.

    Attributes:
        at_s: when, in seconds of the recording.
        voice: who.
        kind: "call", "correction", "command" or "talk".
        readings: what is read off, for a call or correction.
        words: for a command.
        slips: what is added to the value shown, by quantity: the driver says it wrong.
        becomes: what the driver does about a reading later, by quantity: "replaced" or "withdrawn".
    """

    at_s: float
    voice: str
    kind: str = "call"
    readings: tuple[tuple[str, str], ...] = ()
    words: str = ""
    slips: tuple[tuple[str, Decimal], ...] = ()
    becomes: tuple[tuple[str, str], ...] = ()


def _call(at_s: float, voice: str, *readings: tuple[str, str], **slips: str) -> Turn:
    return Turn(at_s, voice, "call", readings, slips=tuple((k, Decimal(v)) for k, v in slips.items()))


def _correction(at_s: float, voice: str, reading: tuple[str, str]) -> Turn:
    return Turn(at_s, voice, "correction", (reading,))


def _command(at_s: float, voice: str, words: str) -> Turn:
    return Turn(at_s, voice, "command", words=words)


def _talk(at_s: float, voice: str) -> Turn:
    return Turn(at_s, voice, "talk")


TURNS: tuple[Turn, ...] = (
    _call(9.0, FIRST, CHARGE, TRIP, EFFICIENCY),
    _talk(31.0, FIRST),
    _call(62.0, FIRST, CHARGE, TRIP),
    _call(110.0, FIRST, OUTSIDE, BATTERY),
    _call(163.0, FIRST, CHARGE, TRIP, RANGE),
    _command(195.0, FIRST, "note headwind"),
    _call(224.0, FIRST, CHARGE, TRIP),
    _talk(243.0, FIRST),
    _talk(253.0, PASSENGER),
    _call(281.0, FIRST, CLOCK, INDICATED),
    _call(335.0, FIRST, CHARGE, TRIP_MI, RANGE_MI),
    _call(392.0, FIRST, CHARGE, ENERGY),
    replace(_call(446.0, FIRST, CHARGE, TRIP, charge="-4"), becomes=(("charge", "replaced"),)),
    _correction(461.0, FIRST, CHARGE),
    _talk(479.0, FIRST),
    _call(505.0, FIRST, TRIP, EFFICIENCY),
    _command(533.0, FIRST, "checkpoint how far"),
    _call(561.0, PASSENGER, CHARGE, TRIP),
    _talk(583.0, PASSENGER),
    _call(618.0, PASSENGER, CHARGE, RANGE),
    _call(672.0, SECOND, ODOMETER),
    _call(713.0, PASSENGER, CHARGE, TRIP),
    _call(751.0, SECOND, TRIP, INDICATED),
    _talk(785.0, PASSENGER),
    replace(
        _call(809.0, SECOND, CHARGE, TRIP_MI, trip="13.1"),
        becomes=(("charge", "withdrawn"), ("trip", "withdrawn")),
    ),
    _command(824.0, SECOND, "strike that"),
    _call(858.0, SECOND, CHARGE, TRIP),
    _command(893.0, SECOND, "note tailwind"),
    _call(921.0, SECOND, CHARGE, ENERGY, TRIP),
    _talk(944.0, SECOND),
    _call(977.0, SECOND, OUTSIDE, BATTERY),
    _call(1030.0, SECOND, CHARGE, TRIP, RANGE),
    _talk(1061.0, SECOND),
    _call(1087.0, SECOND, CHARGE, EFFICIENCY),
    _call(1140.0, SECOND, CHARGE, TRIP),
    _talk(1160.0, PASSENGER),
    _call(1196.0, SECOND, CHARGE, TRIP, trip="10"),
    _call(1249.0, SECOND, CHARGE, TRIP),
    _talk(1270.0, FIRST),
    _call(1303.0, SECOND, INDICATED, CLOCK),
    _call(1357.0, SECOND, CHARGE, RANGE_MI),
    _command(1390.0, THIRD, "note traffic"),
    _call(1412.0, THIRD, CHARGE, TRIP),
    _talk(1436.0, THIRD),
    _call(1466.0, THIRD, CHARGE, TRIP_MI, ENERGY),
    _call(1519.0, THIRD, ODOMETER),
    _call(1573.0, THIRD, CHARGE, TRIP, RANGE),
    _talk(1596.0, THIRD),
    _call(1650.0, THIRD, CHARGE, TRIP),
)
