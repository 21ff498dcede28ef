"""The charts of a report in words: what each shows in numbers, for who cannot see it, and why one is not there. Pure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from logger.core.geodesy import Floats
from logger.core.reporting.figure_words import (
    ShownUnits,
    decimals,
    duration_text,
    figure_text,
    number_text,
    unit_text,
)
from logger.core.results.figures import Figure
from logger.core.results.series import Series


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart.

    Attributes:
        key: its name for programs and for its file.
        title: its name for people.
        shows: what can be seen in it, in numbers: its alt text.
        caption: how to read it.
        missing: why it is not there, "" where it is.
    """

    key: str
    title: str
    shows: str
    caption: str
    missing: str


@dataclass(frozen=True, slots=True)
class Along:
    """What the charts go along, as the axis is named: "Distance by GPS"."""

    name: str


def along(*, by_gps: bool) -> Along:
    """Return what the charts go along."""
    return Along("Distance by GPS" if by_gps else "Distance by trip meter")


def charts_of(series: Series, units: ShownUnits, axis: Along) -> tuple[Chart, ...]:
    """Return all charts in the order they are shown."""
    makers: tuple[Callable[[Series, ShownUnits, Along], Chart], ...] = (
        _charge,
        _projected,
        _predicted,
        _speed,
        _profile,
        _stretches,
        _way,
    )
    return tuple(make(series, units, axis) for make in makers)


def _charge(series: Series, units: ShownUnits, axis: Along) -> Chart:
    shown, tell = series.charge, _Teller(units)
    missing, shows = "", ""
    if not len(shown.charge_pct):
        missing = "No charge was read off at a known distance."
    else:
        shows = (
            f"Charge read off against {_lower(axis.name)}: {_count(len(shown.charge_pct), 'reading')}, "
            f"from {tell(shown.charge_pct[0], '%')} at {tell(shown.distance_km[0], 'km')} "
            f"to {tell(shown.charge_pct[-1], '%')} at {tell(shown.distance_km[-1], 'km')}."
        ) + _reached(series, tell, " 0 % was shown at {}.")
    caption = "Each disc is a reading."
    if series.reached_km is not None:
        caption += " The dashed line is where 0 % was shown."
    return Chart("charge", "Charge over distance", shows, caption, missing)


def _projected(series: Series, units: ShownUnits, axis: Along) -> Chart:
    tell = _Teller(units)
    known = np.flatnonzero(np.isfinite(series.projected.range_km)).tolist()
    missing, shows = "", ""
    if not known:
        missing = "No range could be projected: that needs charge read off at two known distances or more."
    else:
        shows = (
            f"Projected range against {_lower(axis.name)}, at {_count(len(known), 'checkpoint')}: "
            f"first {_projection(series, known[0], units)}, halfway {_projection(series, known[(len(known) - 1) // 2], units)}, "
            f"last {_projection(series, known[-1], units)}."
        ) + _reached(series, tell, " Reached at 0 % shown: {}.")
    caption = (
        "The line is the range projected at each checkpoint, the band its 95 % interval; where it goes past the edge it is wider "
        "than the chart. Crosses are the rule of thumb: distance times the charge at the start, over the charge used."
    )
    return Chart("projected", "Projected range over distance", shows, caption, missing)


def _predicted(series: Series, units: ShownUnits, axis: Along) -> Chart:
    shown, tell = series.predicted, _Teller(units)
    missing, shows = "", ""
    if not len(shown.in_all_km):
        missing = "No predicted range was read off at a known distance."
    else:
        shows = (
            f"What the dash predicted in all (driven plus left) against {_lower(axis.name)}, {_count(len(shown.in_all_km), 'reading')}: "
            f"first {tell(shown.in_all_km[0], 'km')}, last {tell(shown.in_all_km[-1], 'km')}, "
            f"lowest {tell(shown.in_all_km.min(), 'km')}, highest {tell(shown.in_all_km.max(), 'km')}."
        ) + _reached(series, tell, " Reached at 0 % shown: {}.")
    caption = "Squares: distance driven plus the range left that the dash showed. "
    if series.reached_km is None:
        caption += "An honest dash stays level; falling, it promised too much before. 0 % was not reached."
    else:
        caption += "An honest dash stays on the dashed line, which is the range reached; above it the dash promised too much."
    return Chart("predicted", "Honesty of the dash's prediction", shows, caption, missing)


def _speed(series: Series, units: ShownUnits, _: Along) -> Chart:
    shown, tell = series.speed, _Teller(units)
    missing, shows = "", ""
    if not len(shown.seconds) or not shown.seconds.sum() > 0.0:
        missing = "No speed by GPS is known."
    else:
        most = int(np.argmax(shown.seconds))
        ends = shown.lower_kmh[most], shown.lower_kmh[most] + shown.width_kmh
        share = shown.seconds[most] / shown.seconds.sum()
        shows = (
            f"Time at each GPS speed: {duration_text(float(shown.seconds.sum()))} in all, most of it, {100.0 * share:.0f} %, "
            f"between {tell.number(ends[0], 'km/h')} and {tell(ends[1], 'km/h')}."
        )
        if shown.target_kmh is not None:
            shows += f" The target was {tell(shown.target_kmh, 'km/h')}."
    caption = "Time driven at each GPS speed."
    if shown.target_kmh is not None:
        caption += " The dashed line is the target."
    return Chart("speed", "Speed", shows, caption, missing)


def _profile(series: Series, units: ShownUnits, axis: Along) -> Chart:
    shown, tell = series.profile, _Teller(units)
    missing, shows = "", ""
    if not len(shown.altitude_m):
        missing = "The track has no altitude that can be used."
    else:
        shows = (
            f"Altitude against {_lower(axis.name)}: from {tell(shown.altitude_m.min(), 'm')} to {tell(shown.altitude_m.max(), 'm')}; "
            f"{tell(shown.altitude_m[0], 'm')} at the start and {tell(shown.altitude_m[-1], 'm')} at the end."
        )
    return Chart("altitude", "Altitude over distance", shows, "Altitude by GPS, smoothed.", missing)


def _stretches(series: Series, units: ShownUnits, axis: Along) -> Chart:
    shown, tell = series.stretches, _Teller(units)
    missing, shows = "", ""
    if not len(shown.pct_per_100km):
        missing = "No consumption by stretch: that needs charge read off at two known distances or more."
    else:
        values, _, _, unit = consumption(series)
        shows = (
            f"Consumption by stretch against {_lower(axis.name)}, {_count(len(values), 'stretch', 'stretches')}: "
            f"from {tell(values.min(), unit)} to {tell(values.max(), unit)}, median {tell(float(np.median(values)), unit)}."
        )
    caption = "Each bar is a stretch between readings of charge, the band around it its 95 % interval."
    return Chart("consumption", "Consumption by stretch", shows, caption, missing)


def _way(series: Series, units: ShownUnits, _: Along) -> Chart:
    shown, tell = series.way, _Teller(units)
    missing, shows = "", ""
    if len(shown.lat_deg) < 2:
        missing = "No way by GPS is known."
    else:
        shows = (
            f"The way driven on a plain map, north up: it begins at {place_text(shown.lat_deg[0], shown.lon_deg[0])} and ends at "
            f"{place_text(shown.lat_deg[-1], shown.lon_deg[-1])}; {_count(len(shown.checkpoint_lat_deg), 'checkpoint')}"
        )
        charges = shown.checkpoint_charge_pct[np.isfinite(shown.checkpoint_charge_pct)]
        if len(charges):
            shows += f", with charge from {tell(charges.max(), '%')} to {tell(charges.min(), '%')}"
        shows += "."
    caption = "Discs are checkpoints; of many, those where the charge passed a ten are named. The triangle is the start, the square the end."
    return Chart("way", "The way driven", shows, caption, missing)


def consumption(series: Series) -> tuple[Floats, Floats, Floats, str]:
    """Return consumption by stretch as a chart shows it: values, the ends of their intervals (NaN where none), their unit.

    Wh/km where usable energy is told for all stretches, else % of charge per 100 km.
    """
    shown = series.stretches
    if not np.isfinite(shown.wh_per_km).all():
        return shown.pct_per_100km, shown.low_pct_per_100km, shown.high_pct_per_100km, "%/100km"
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(shown.pct_per_100km != 0.0, shown.wh_per_km / shown.pct_per_100km, np.nan)
    # One factor, usable energy over 100 %, whichever stretch it is taken from.
    known = factor[np.isfinite(factor)]
    one = float(known[0]) if len(known) else np.nan
    return shown.wh_per_km, shown.low_pct_per_100km * one, shown.high_pct_per_100km * one, "Wh/km"


def place_text(lat_deg: float, lon_deg: float) -> str:
    """Return a place in degrees to about 100 m.

    >>> place_text(45.1234, -0.5)
    '45.123° N 0.500° W'
    """
    north, east = ("N" if lat_deg >= 0.0 else "S"), ("E" if lon_deg >= 0.0 else "W")
    return f"{abs(lat_deg):.3f}° {north} {abs(lon_deg):.3f}° {east}"


class _Teller:
    """Tells a number of a series with its unit."""

    def __init__(self, units: ShownUnits) -> None:
        self._units = units

    def __call__(self, value: float, unit: str) -> str:
        return f"{self.number(value, unit)} {unit_text(self._units.of(unit))}"

    def number(self, value: float, unit: str) -> str:
        told = self._units.convert(float(value), unit)
        places = decimals(told, self._units.of(unit), 0.0)
        return number_text(told, 0 if told == round(told) else places)


def _projection(series: Series, index: int, units: ShownUnits) -> str:
    shown = series.projected
    ends = float(shown.low_km[index]), float(shown.high_km[index])
    low, high = ends if np.isfinite(ends).all() else (None, None)
    return figure_text(Figure(float(shown.range_km[index]), "km", low, high), units).whole


def _reached(series: Series, tell: _Teller, text: str) -> str:
    return "" if series.reached_km is None else text.format(tell(series.reached_km, "km"))


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
