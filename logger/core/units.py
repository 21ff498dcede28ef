"""Exact conversions between the units that are called out, and the rounding of what comes of them. Pure.

The one constant is the mile of 1609.344 m: 5280 feet of 0.3048 m, exact by the yard and pound agreement of
1959 (NIST SP 811, section B.6). A US gallon of petrol counts as 33.705 kWh (40 CFR 600, from memory). Temperatures: degC = (degF - 32) / 1.8 (NIST SP 811, section B.8). Everything
is computed in fractions, so nothing is lost before the one rounding at the end.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

Distances = Literal["mi", "km"]
"""The two families of distance units a log can be shown in."""

METRES = {"mi": 1609.344, "km": 1000.0}
"""Metres in each unit of distance."""
KMH_PER_MPS = 3.6
"""Kilometres an hour in a metre a second."""

_KM_PER_MI = Fraction(1_609_344, 1_000_000)
_DEGC_PER_DEGF = Fraction(5, 9)
_KWH_PER_GALLON = Fraction(33_705, 1_000)


@dataclass(frozen=True, slots=True)
class _Unit:
    """base = (value + offset) * scale. `inverted` units measure 1000 / base of their kind (Wh/km, not km/kWh)."""

    kind: str
    scale: Fraction = Fraction(1)
    offset: Fraction = Fraction(0)
    inverted: bool = False


_UNITS = {
    "": _Unit("none"),
    "%": _Unit("share"),
    "kWh": _Unit("energy"),
    "min": _Unit("time of day"),
    "km": _Unit("distance"),
    "mi": _Unit("distance", _KM_PER_MI),
    "m": _Unit("distance", Fraction(1, 1000)),
    "ft": _Unit("distance", _KM_PER_MI / 5280),
    "km/h": _Unit("speed"),
    "mph": _Unit("speed", _KM_PER_MI),
    "m/s": _Unit("speed", Fraction(18, 5)),
    "degC": _Unit("temperature"),
    "degF": _Unit("temperature", _DEGC_PER_DEGF, Fraction(-32)),
    "km/kWh": _Unit("efficiency"),
    "mi/kWh": _Unit("efficiency", _KM_PER_MI),
    "Wh/km": _Unit("efficiency", inverted=True),
    "Wh/mi": _Unit("efficiency", 1 / _KM_PER_MI, inverted=True),
    "kWh/100km": _Unit("efficiency", Fraction(10), inverted=True),
    "kWh/100mi": _Unit("efficiency", 10 / _KM_PER_MI, inverted=True),
    "MPGe": _Unit("efficiency", _KM_PER_MI / _KWH_PER_GALLON),
}

UNITS = tuple(_UNITS)
"""Every unit symbol used across odovox."""

_SHOWN_IN: dict[Distances, dict[str, str]] = {
    "mi": {
        "km": "mi",
        "m": "ft",
        "km/h": "mph",
        "m/s": "mph",
        "km/kWh": "mi/kWh",
        "Wh/km": "Wh/mi",
        "kWh/100km": "Wh/mi",
    },
    "km": {
        "mi": "km",
        "ft": "m",
        "mph": "km/h",
        "mi/kWh": "km/kWh",
        "Wh/mi": "Wh/km",
        "kWh/100mi": "kWh/100km",
    },
}


def first_distances(units: Iterable[str]) -> Distances | None:
    """Return the first unit of distance among some, as a sheet has its quantities in; None where there is none."""
    known: dict[str, Distances] = {"mi": "mi", "km": "km"}
    return next((known[unit] for unit in units if unit in known), None)


def convertible(unit: str, to: str) -> bool:
    """Whether a value in `unit` can be told in `to`; any unit, known or not, can be told in itself."""
    return unit == to or (unit in _UNITS and to in _UNITS and _UNITS[unit].kind == _UNITS[to].kind)


def shown_in(unit: str, distances: Distances | None) -> str:
    """Return the unit that `unit` becomes when a log is shown in miles or in kilometres.

    Distances, speeds and efficiencies change, and a consumption stays a consumption (kWh/100km becomes Wh/mi),
    so no value is ever undefined. Temperatures, energies and the rest stay, and so does all with None.
    """
    return unit if distances is None else _SHOWN_IN[distances].get(unit, unit)


def convert_exactly(value: Decimal | Fraction, unit: str, to: str) -> Fraction:
    """Convert without rounding.

    Raises:
        ValueError: the units measure different things or are unknown, or `value` is zero and its reciprocal is
            asked for (0 kWh/100km is no number of miles per kWh).
    """
    if unit == to:
        return Fraction(value)
    if not convertible(unit, to):
        raise ValueError(f"{unit!r} cannot be converted to {to!r}")
    source, target = _UNITS[unit], _UNITS[to]
    base = (Fraction(value) + source.offset) * source.scale
    if source.inverted != target.inverted:
        if base == 0:
            raise ValueError(f"0 {unit} has no value in {to}")
        base = 1000 / base
    return base / target.scale - target.offset


def convert(value: Decimal, unit: str, to: str) -> Decimal:
    """Convert, rounded (half to even) to as few decimals as still tell the said value.

    The last decimal kept is the largest power of ten, at most 1, that is no coarser than what half a step of the
    said value's last digit up and half a step down come to. So converting back and rounding to the said decimals
    gives the said value again: 97.2 mi is 156.4 km, 156.4 km is 97.18 mi. In its own unit a value is untouched.

    Raises:
        ValueError: as `convert_exactly`.
    """
    if unit == to:
        return value
    if not value.is_finite():
        raise ValueError(f"{value} is no number")
    exponent = int(value.as_tuple().exponent)
    half = Fraction(10) ** min(0, exponent) / 2
    middle = convert_exactly(value, unit, to)
    said = Fraction(value)
    step = 2 * min(abs(convert_exactly(said + way, unit, to) - middle) for way in (half, -half))
    places = 0
    while Fraction(1, 10**places) > step:
        places += 1
    # Built from text, since Decimal arithmetic would round to whatever context the caller's thread has.
    return Decimal(f"{round(middle * 10**places)}E-{places}")
