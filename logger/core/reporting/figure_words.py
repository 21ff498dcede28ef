"""How a figure is told to people: in their units, rounded to what its interval allows. Pure.

A value is rounded to the place that its uncertainty reaches: two digits of half the interval where these are at most 35, else one
(the rule by which the Particle Data Group rounds its tables). Without an interval it has the decimals usual for its unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import floor, isfinite, log10
from types import MappingProxyType
from typing import Literal

from logger.core.results.figures import YES_NO, Figure, shown
from logger.core.units import Distances, convert_exactly, convertible, shown_in

Temperatures = Literal["degC", "degF"]
MINUS = "\N{MINUS SIGN}"

_USUAL_DECIMALS: Mapping[str, int] = MappingProxyType(
    {
        "km": 1,
        "mi": 1,
        "m": 0,
        "ft": 0,
        "km/h": 1,
        "mph": 1,
        "m/s": 1,
        "%": 1,
        "Wh/km": 0,
        "Wh/mi": 0,
        "kWh/100km": 1,
        "km/kWh": 2,
        "mi/kWh": 2,
        "km/%": 2,
        "mi/%": 2,
        "kWh": 1,
        "degC": 1,
        "degF": 1,
        "K": 1,
        "deg": 0,
        "kg/m3": 3,
        "hPa": 0,
        "kg": 0,
        "m2": 2,
        "W": 0,
        "N": 0,
    }
)
"""Decimals of a value without an interval; three significant digits for a unit that is not here."""
_FINEST_DECIMALS = 4
_FINE_S = 30.0
"""Hours are told to the second where half the interval is shorter than this."""
_NO_HEIGHT_M = 9_000.0
_WRITTEN: Mapping[str, str] = MappingProxyType(
    {
        "degC": "\N{DEGREE SIGN}C",
        "degF": "\N{DEGREE SIGN}F",
        "deg": "\N{DEGREE SIGN}",
        "kWh/100km": "kWh/100 km",
        "kWh/100mi": "kWh/100 mi",
        "%/100km": "% per 100 km",
        "%/100mi": "% per 100 mi",
        "km/%": "km per %",
        "mi/%": "mi per %",
        "kg/m3": "kg/m\N{SUPERSCRIPT THREE}",
        "m2": "m\N{SUPERSCRIPT TWO}",
    }
)
_PER_DISTANCE: Mapping[str, tuple[str, Fraction]] = MappingProxyType(
    {"%/100km": ("%/100mi", Fraction(1_609_344, 1_000_000)), "km/%": ("mi/%", Fraction(1_000_000, 1_609_344))}
)
"""Units of results that nobody calls out, what miles people have in their place, and how many of that one of the first is."""


@dataclass(frozen=True, slots=True)
class ShownUnits:
    """What figures are told in: miles or kilometres, and degrees."""

    distances: Distances
    temperatures: Temperatures = "degC"

    def of(self, unit: str) -> str:
        """Return the unit that a figure in `unit` is told in."""
        if unit in {"degC", "degF"}:
            return self.temperatures
        if self.distances == "mi" and unit in _PER_DISTANCE:
            return _PER_DISTANCE[unit][0]
        return shown_in(unit, self.distances)

    def convert(self, value: float, unit: str) -> float:
        """Return a value told in `of(unit)`.

        Raises:
            ValueError: it has no value there (the reciprocal of 0).
        """
        to = self.of(unit)
        if to == unit or not isfinite(value):
            return value
        if unit in _PER_DISTANCE:
            return float(Fraction(value) * _PER_DISTANCE[unit][1])
        return float(convert_exactly(Fraction(value), unit, to)) if convertible(unit, to) else value


@dataclass(frozen=True, slots=True)
class FigureText:
    """A figure in words.

    Attributes:
        value: the number alone, "262"; of a time all of it, "2 h 05 min".
        unit: as written after it, "km"; "" where there is none.
        interval: "258 to 266", "" where there is none.
    """

    value: str
    unit: str
    interval: str

    @property
    def with_unit(self) -> str:
        """The value with its unit: "262 km"."""
        return f"{self.value} {self.unit}".rstrip()

    @property
    def whole(self) -> str:
        """All in one: "262 km (95 %: 258 to 266)"."""
        return self.with_unit + (f" (95 %: {self.interval})" if self.interval else "")


def figure_text(figure: Figure, units: ShownUnits) -> FigureText:
    """Return a figure in words."""
    told = in_units(figure, units)
    ends = () if told.low is None or told.high is None else (told.low, told.high)
    half = abs(ends[1] - ends[0]) / 2.0 if ends else 0.0
    if told.unit == YES_NO:
        return FigureText("yes" if told.value else "no", "", "")
    if told.unit == "s":
        fine = 0.0 < half < _FINE_S
        interval = " to ".join(duration_text(end, fine=fine) for end in ends)
        return FigureText(duration_text(told.value, fine=fine), "", interval)
    places = decimals(told.value, told.unit, half)
    interval = " to ".join(number_text(end, places) for end in ends)
    return FigureText(number_text(told.value, places), unit_text(told.unit), interval)


def in_units(figure: Figure, units: ShownUnits) -> Figure:
    """Return a figure in the units it is told in; metres by the ten thousand, which no road is high, as a distance."""
    if figure.unit == "m" and abs(figure.value) >= _NO_HEIGHT_M:
        figure = shown(figure, None, unit="km")
    if figure.unit in _PER_DISTANCE and units.of(figure.unit) != figure.unit:
        low, high = (
            None if end is None else units.convert(end, figure.unit) for end in (figure.low, figure.high)
        )
        value = units.convert(figure.value, figure.unit)
        return Figure(value, units.of(figure.unit), low, high, figure.covers, figure.estimate, figure.remark)
    return shown(figure, units.distances, unit=units.of(figure.unit))


def decimals(value: float, unit: str, half: float) -> int:
    """Return how many decimals a value is told with; below 0 for tens and hundreds.

    Args:
        value: in `unit`.
        unit: as told.
        half: half of its interval, 0 where there is none.

    >>> decimals(0.827, "", 0.119), decimals(0.827, "", 0.367), decimals(262.3, "km", 4.0)
    (2, 1, 0)
    """
    size = floor(log10(abs(value))) if value else 0
    if half > 0.0:
        exponent = floor(log10(half))
        two_digits = half / 10.0**exponent < 3.55
        allowed = exponent - 1 if two_digits else exponent
        # Hardly ever so coarse that nothing is left of the value itself: one place more than the interval allows, no further.
        place = min(allowed, max(size, allowed - 1)) if value else allowed
        return min(_FINEST_DECIMALS, -place)
    if unit == "" and value == int(value):
        return 0
    return _USUAL_DECIMALS.get(unit, max(0, min(_FINEST_DECIMALS, 3 - size if unit == "" else 2 - size)))


def number_text(value: float, places: int) -> str:
    """Return a number with so many decimals and a true minus sign; never "-0".

    >>> number_text(-0.04, 1), number_text(1263.0, -1)
    ('0.0', '1260')
    """
    text = f"{round(value, places):.{max(0, places)}f}"
    return text.lstrip("-") if not float(text) else text.replace("-", MINUS)


def unit_text(unit: str) -> str:
    """Return a unit as people write it."""
    return _WRITTEN.get(unit, unit)


def duration_text(seconds: float, *, fine: bool = False) -> str:
    """Return a time that passes, in hours and minutes; below an hour, or where asked for, in minutes and seconds.

    >>> duration_text(7499.0), duration_text(185.0), duration_text(12.4)
    ('2 h 05 min', '3 min 05 s', '12 s')
    """
    sign, whole = (MINUS, round(-seconds)) if seconds < 0 else ("", round(seconds))
    if whole >= 3600:
        if fine:
            return f"{sign}{whole // 3600} h {whole // 60 % 60:02d} min {whole % 60:02d} s"
        minutes = round(whole / 60)
        return f"{sign}{minutes // 60} h {minutes % 60:02d} min"
    return f"{sign}{whole // 60} min {whole % 60:02d} s" if whole >= 60 else f"{sign}{whole} s"
