"""What a drive makes likely at a reading, in words: between which values, by the readings around it. Pure."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

from logger.core.plausible.courses import Course
from logger.core.rules import Observation, told
from logger.core.strands import Woven
from logger.core.units import convert_exactly

_SDS = 2.0
_NANO_PER_H = 3.6e12


def expected(
    observed: Observation, woven: Woven, before: Observation | None, after: Observation | None
) -> tuple[float, float] | None:
    """Return the bounds (two standard deviations) within which a reading's value is expected, in the unit of `base`.

    By the course of its quantity from the trusted readings before and after, each weighed by its precision; None
    where there is neither, or no course to go by.
    """
    course = woven.course
    if observed.quantity in ("clock", "indicated_speed"):
        return None
    at, km_at = woven.knots, woven.strand.km
    index = next((i for i, knot in enumerate(at) if observed in knot.observations), None)
    if index is None:
        return None
    sums = weights = 0.0
    for other, sign in ((before, 1.0), (after, -1.0)):
        if other is None or not _comparable(course, observed, other):
            continue
        where = next((i for i, knot in enumerate(at) if other in knot.observations), None)
        if where is None:
            continue
        along = abs(float(km_at[index] - km_at[where]))
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


def expected_text(
    observed: Observation, woven: Woven, before: Observation | None, after: Observation | None
) -> str:
    """Return the expected bounds as people write them, in the unit and with the decimals said; "" where there are none."""
    bounds = expected(observed, woven, before, after)
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


def _comparable(course: Course, *observed: Observation) -> bool:
    return all(math.isfinite(each.base) and (each.base > 0.0 or not course.in_logs) for each in observed)


def _in_unit(base: float, observed: Observation) -> float:
    return float(convert_exactly(Fraction(base), observed.base_unit, observed.unit))


def _rounding(course: Course, one: Observation, other: Observation) -> float:
    """Return the variance of what both displays rounded away."""
    if course.in_logs:
        return ((one.half_step / one.base) ** 2 + (other.half_step / other.base) ** 2) / 3.0
    return (one.half_step**2 + other.half_step**2) / 3.0
