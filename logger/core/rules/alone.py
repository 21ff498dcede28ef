"""Rules that look at one value by itself, at the time and place it was read off. Pure."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

from logger.core.rules.records import Context, Observation, Outcome, Verdict, graded, passed, told
from logger.core.units import convert_exactly

_NEARLY = 0.05
_SPEED_TOLERANCE_KMH = 10.0
_SPEED_TOLERANCE = 0.15
_CLOCK_TOLERANCE_MIN = 3.0
ZONE_TOLERANCE_MIN = 240.0
"""A zone's clock and the sun's differ by up to four hours, daylight saving included (common knowledge)."""

_USUAL_KM_PER_KWH = (1.0, 15.0)
_POSSIBLE_KM_PER_KWH = (0.2, 50.0)
DAY_MIN = 1440


def within_limits(observed: Observation, context: Context) -> Verdict:
    """A value lies within the sheet's limits for its quantity; beyond them by up to 5 % of their span is a doubt."""
    rule = "within_limits"
    quantity = context.facts.quantities.get(observed.quantity)
    if quantity is None:
        return passed(rule)
    lowest, highest = quantity.lowest_plausible, quantity.highest_plausible
    if lowest is None and highest is None:
        return passed(rule)
    if observed.unit == quantity.unit and not (
        (lowest is not None and observed.value < lowest) or (highest is not None and observed.value > highest)
    ):
        return passed(rule)  # nearly always, and without fractions
    try:
        value = convert_exactly(observed.value, observed.unit, quantity.unit)
    except ValueError:
        message = f"{observed.text} cannot be told in {quantity.unit}, in which the sheet's limits are"
        return Verdict(rule, Outcome.DOUBT, message)
    span = _span(lowest, highest)
    if lowest is not None and value < lowest:
        limit = told(observed.quantity, lowest, quantity.unit)
        return _beyond(
            float(Fraction(lowest) - value), span, f"{observed.text} is below the sheet's lowest, {limit}"
        )
    if highest is not None and value > highest:
        limit = told(observed.quantity, highest, quantity.unit)
        return _beyond(
            float(value - Fraction(highest)), span, f"{observed.text} is above the sheet's highest, {limit}"
        )
    return passed(rule)


def _span(lowest: Decimal | None, highest: Decimal | None) -> float:
    if lowest is None or highest is None:
        return abs(float(lowest or highest or 0))
    return float(highest - lowest)


def _beyond(excess: float, span: float, message: str) -> Verdict:
    return Verdict("within_limits", Outcome.DOUBT if excess <= _NEARLY * span else Outcome.FAIL, message)


def efficiency_is_possible(observed: Observation, _context: Context) -> Verdict:
    """An efficiency is above zero and what a car can do: 1 to 15 km/kWh pass, beyond 0.2 to 50 fails."""
    rule = "efficiency_is_possible"
    low, high = _USUAL_KM_PER_KWH
    if low <= observed.base <= high:
        return passed(rule)
    low, high = _POSSIBLE_KM_PER_KWH
    shown = "no consumption at all" if math.isinf(observed.base) else f"{observed.base:.1f} km/kWh"
    message = f"{observed.text} is {shown}, which is unlikely for a car"
    return Verdict(rule, Outcome.DOUBT if low <= observed.base <= high else Outcome.FAIL, message)


def speed_agrees_with_gps(observed: Observation, _context: Context) -> Verdict:
    """An indicated speed is within the larger of 10 km/h and 15 % of the GPS speed; up to twice that is a doubt."""
    rule = "speed_agrees_with_gps"
    if observed.place is None or observed.place.speed_mps is None:
        return passed(rule)
    gps_kmh = observed.place.speed_mps * 3.6
    if not math.isfinite(gps_kmh):
        return passed(rule)
    allowed = max(_SPEED_TOLERANCE_KMH, _SPEED_TOLERANCE * gps_kmh)
    off = abs(observed.base - gps_kmh)
    if off <= allowed:
        return passed(rule)
    return graded(
        rule, off, allowed, f"{observed.text} is {off:.0f} km/h off the GPS speed of {gps_kmh:.0f} km/h"
    )


def clock_agrees_with_gps(observed: Observation, context: Context) -> Verdict:
    """The clock is ahead of UTC by what most of its readings say, within 3 minutes; 6 are a doubt.

    When they settle nothing, it is ahead by a time zone's quarters of an hour near what the longitude suggests.
    """
    rule = "clock_agrees_with_gps"
    ahead = clock_ahead_min(observed)
    learned = context.facts.clock_ahead_min
    if learned is not None:
        off = abs(around_the_clock(ahead - learned))
        if off <= _CLOCK_TOLERANCE_MIN:
            return passed(rule)
        message = f"{observed.text} is {off:.0f} min off what the other clock readings and GPS time say"
        return graded(rule, off, _CLOCK_TOLERANCE_MIN, message)
    zone_off = zone_off_min(observed)
    if zone_off is not None and zone_off > ZONE_TOLERANCE_MIN:
        message = f"{observed.text} is {zone_off / 60:.0f} h off the time of day at this longitude"
        return Verdict(rule, Outcome.FAIL, message)
    quarter_off = abs((ahead + 7.5) % 15.0 - 7.5)
    if quarter_off > _CLOCK_TOLERANCE_MIN:
        message = f"{observed.text} is {quarter_off:.0f} min off any time zone's time"
        return Verdict(rule, Outcome.DOUBT, message)
    return passed(rule)


def clock_ahead_min(observed: Observation) -> float:
    """Return how far a clock reading is ahead of UTC: minutes in [0, 1440)."""
    return (observed.base - observed.utc_ns / 60e9) % DAY_MIN


def around_the_clock(minutes: float) -> float:
    """Return a difference of clock times brought into [-720, 720)."""
    return (minutes + DAY_MIN / 2) % DAY_MIN - DAY_MIN / 2


def zone_off_min(observed: Observation) -> float | None:
    """Return how far a clock reading is off the mean solar time of its longitude (4 minutes a degree)."""
    if observed.place is None or not math.isfinite(observed.place.lon_deg):
        return None
    return abs(around_the_clock(clock_ahead_min(observed) - 4.0 * observed.place.lon_deg))
