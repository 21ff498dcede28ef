"""What a drive makes likely at a reading, in words: between which values, by the readings around it. Pure."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from logger.core.neighbours import Place
from logger.core.plausible.courses import Course
from logger.core.rules import Observation, told
from logger.core.rules.alone import DAY_MIN
from logger.core.units import convert_exactly

_SDS = 2.0
_MOST_LIKELY = 60
_LEAST_SD = 0.3
"""In steps of the display: what it rounds away."""
_NANO_PER_H = 3.6e12


def expected(observed: Observation, place: Place, *, beside_after: bool = True) -> tuple[float, float] | None:
    """Return the bounds (two standard deviations) within which a reading's value is expected, in the unit of `base`.

    By the course of its quantity from the trusted readings before and, with `beside_after`, after it, each weighed by
    its precision; None where there is neither, or no course to go by.

    Args:
        observed: one of the reading's values.
        place: where the reading lies.
        beside_after: whether the reading after has a say.
    """
    course, km_at = place.woven.course, place.woven.strand.km
    if observed.quantity in ("clock", "indicated_speed"):
        return None
    sums = weights = 0.0
    before, after = (place.before_at, place.before, 1.0), (place.after_at, place.after, -1.0)
    for at, other, sign in (before, after) if beside_after else (before,):
        if other is None or not _comparable(course, observed, other):
            continue
        along = abs(float(km_at[place.at] - km_at[at]))
        if course.by_time:
            along = abs(observed.at_ns - other.at_ns) / _NANO_PER_H
        base = math.log(other.base) if course.in_logs else other.base
        weight = 1.0 / float(course.variance(along, _rounding(course, observed, other)))
        sums += weight * (base + sign * course.slope * along)
        weights += weight
    if not weights:
        return None
    middle, half = sums / weights, _SDS * weights**-0.5
    bounds = middle - half, middle + half
    return (math.exp(bounds[0]), math.exp(bounds[1])) if course.in_logs else bounds


def expected_text(observed: Observation, place: Place, *, beside_after: bool = True) -> str:
    """Return the expected bounds as people write them, in the unit and with the decimals said; "" where there are none."""
    bounds = expected(observed, place, beside_after=beside_after)
    if bounds is None:
        return ""
    places = max(0, -int(observed.value.as_tuple().exponent))
    try:
        ends = sorted(_in_unit(bound, observed) for bound in bounds)
    except ValueError:
        return ""
    low, high = (Decimal(f"{end:.{places}f}") for end in ends)
    if low == high:
        return told(observed.quantity, low, observed.unit)
    return f"{low} to {told(observed.quantity, high, observed.unit)}"


class Likely(NamedTuple):
    """A value that the drive makes likely, and how likely beside the others (0 to 1)."""

    value: Decimal
    chance: float


def likely_values(observed: Observation, place: Place, clock_ahead_min: float | None) -> list[Likely]:
    """Return the values within the expected bounds, in the unit and with the decimals of the display, the middle first.

    Nothing where there are no bounds, or too many values within them to tell one.

    Args:
        observed: the value that was heard.
        place: where the reading lies.
        clock_ahead_min: how far the dash's clock is ahead of UTC, if that is known.
    """
    if observed.quantity == "clock":
        if clock_ahead_min is None:
            return []
        # Readings come at any second of the minute shown, so the middle one of them is half a minute behind.
        minute = math.floor(observed.utc_ns / 60e9 + clock_ahead_min + 0.5)
        return [
            Likely(Decimal((minute + off) % DAY_MIN), chance)
            for off, chance in ((0, 0.5), (1, 0.25), (-1, 0.25))
        ]
    bounds = expected(observed, place)
    if bounds is None:
        return []
    beside = [each for each in (place.before, place.after) if each is not None and each.unit == observed.unit]
    # Who leaves out "point zero" once names a decimal before or after.
    places = max(0, *(-int(each.value.as_tuple().exponent) for each in beside or [observed]))
    try:
        low, high = sorted(_in_unit(bound, observed) * 10.0**places for bound in bounds)
    except (ValueError, OverflowError):
        return []
    if not high - low < _MOST_LIKELY:
        return []
    middle = (low + high) / 2.0
    steps = sorted(range(math.ceil(low), math.floor(high) + 1), key=lambda step: abs(step - middle))
    steps = steps or [round(middle)]
    sd = max((high - low) / (2.0 * _SDS), _LEAST_SD)
    heights = [math.exp(-0.5 * ((step - middle) / sd) ** 2) for step in steps]
    return [
        Likely(Decimal(step).scaleb(-places), height / sum(heights))
        for step, height in zip(steps, heights, strict=True)
    ]


def _comparable(course: Course, *observed: Observation) -> bool:
    return all(math.isfinite(each.base) and (each.base > 0.0 or not course.in_logs) for each in observed)


def _in_unit(base: float, observed: Observation) -> float:
    return float(convert_exactly(Fraction(base), observed.base_unit, observed.unit))


def _rounding(course: Course, one: Observation, other: Observation) -> float:
    """Return the variance of what both displays rounded away."""
    if course.in_logs:
        return ((one.half_step / one.base) ** 2 + (other.half_step / other.base) ** 2) / 3.0
    return (one.half_step**2 + other.half_step**2) / 3.0
