"""Rules that look at the step from one reading of a quantity to another, in order of time. Pure.

Each judges the value both as the later end of the step from the reading before and as the earlier end of the step
to the reading after, and answers with the worse of the two.
"""

from __future__ import annotations

from collections.abc import Callable

from logger.core.rules.records import (
    Context,
    Facts,
    Observation,
    Outcome,
    Step,
    Verdict,
    graded,
    passed,
    step_between,
    worse,
)

_DESCENT_PCT = 2.0
_PCT_PER_KM = 1.0
_PCT_PER_H = 10.0
_DISTANCE_TOLERANCE_KM = 1.0
_DISTANCE_TOLERANCE = 0.05
_FASTEST_KM_PER_H = 250.0
_KWH_PER_KM = 0.6
_KW_AT_REST = 8.0
_RANGE_TOLERANCE_KM = 25.0
_RANGE_PER_KM = 0.8
_RANGE_TOLERANCE = 0.1
_DEGC = 4.0
_DEGC_PER_H = 30.0

StepCheck = Callable[[Observation, Observation, Facts, Observation], Verdict]
"""Judges one step (earlier, later, drive, which of the two ends is the value in question)."""


def _of_steps(rule: str, observed: Observation, context: Context, check: StepCheck) -> Verdict:
    verdict = passed(rule)
    for earlier, later in context.steps(observed):
        verdict = worse(verdict, check(earlier, later, context.facts, observed))
    return verdict


def charge_never_rises(observed: Observation, context: Context) -> Verdict:
    """Charge never rises unless charging was noted; up by one or two percent, as on a descent, is a doubt."""
    return _of_steps("charge_never_rises", observed, context, _charge_rise)


def _charge_rise(earlier: Observation, later: Observation, facts: Facts, asked: Observation) -> Verdict:
    rise = later.base - earlier.base
    if rise <= 0 or facts.charged_between(earlier, later):
        return passed("charge_never_rises")
    message = (
        f"{later.text} is {rise:.0f} % more than the {earlier.text} before"
        if later is asked
        else f"{earlier.text} is {rise:.0f} % less than the {later.text} read later"
    )
    outcome = Outcome.DOUBT if rise <= _DESCENT_PCT else Outcome.FAIL
    return Verdict("charge_never_rises", outcome, message + ", and no charging was noted")


def charge_falls_with_distance(observed: Observation, context: Context) -> Verdict:
    """Charge falls by no more than 1 % and a further 1 % per km and 10 % per hour; up to twice that is a doubt."""
    return _of_steps("charge_falls_with_distance", observed, context, _charge_fall)


def _charge_fall(earlier: Observation, later: Observation, _facts: Facts, asked: Observation) -> Verdict:
    fall = earlier.base - later.base
    step = step_between(earlier, later)
    allowed = 1.0 + _PCT_PER_KM * step.most_km + _PCT_PER_H * step.hours
    if fall <= allowed:
        return passed("charge_falls_with_distance")
    message = (
        f"{later.text} is {fall:.0f} % less than the {earlier.text} before"
        if later is asked
        else f"{earlier.text} is {fall:.0f} % more than the {later.text} read later"
    )
    return graded("charge_falls_with_distance", fall, allowed, f"{message}, too much for {_way(step)}")


def distance_never_falls(observed: Observation, context: Context) -> Verdict:
    """Odometer and trip never fall, unless a trip reset was noted; by what rounding can do is a doubt."""
    return _of_steps("distance_never_falls", observed, context, _distance_fall)


def _distance_fall(earlier: Observation, later: Observation, facts: Facts, asked: Observation) -> Verdict:
    fall = earlier.base - later.base
    if fall <= 0 or _trip_reset(earlier, later, facts):
        return passed("distance_never_falls")
    if fall <= earlier.half_step + later.half_step and earlier.unit != later.unit:
        return passed("distance_never_falls")
    outcome = Outcome.DOUBT if fall <= 2.0 * (earlier.half_step + later.half_step) else Outcome.FAIL
    message = (
        f"{later.text} is {fall:.1f} km less than the {earlier.text} before"
        if later is asked
        else f"{earlier.text} is {fall:.1f} km more than the {later.text} read later"
    )
    if earlier.quantity == "trip":
        message += ", and no trip reset was noted"
    return Verdict("distance_never_falls", outcome, message)


def distance_agrees_with_gps(observed: Observation, context: Context) -> Verdict:
    """Odometer and trip rise by the GPS distance, within 1 km or 5 %, rounding, and what no receiver saw; up to twice that is a doubt.

    After a noted trip reset the trip is the GPS distance since. Without GPS the rise is what can be driven in the time.
    """
    return _of_steps("distance_agrees_with_gps", observed, context, _distance_step)


def _distance_step(earlier: Observation, later: Observation, facts: Facts, asked: Observation) -> Verdict:
    rule = "distance_agrees_with_gps"
    step = step_between(earlier, later)
    rise = later.base - earlier.base
    since = earlier.text
    km = step.km
    reset = facts.noted_between("trip reset", earlier, later) if earlier.quantity == "trip" else None
    if reset is not None:
        rise, since = later.base, "the trip reset"
        known = later.driven_km is not None and reset.driven_km is not None
        km = later.driven_km - reset.driven_km if known else None  # type: ignore[operator]
    if km is None:
        allowed = _FASTEST_KM_PER_H * step.hours + _DISTANCE_TOLERANCE_KM
        if rise <= allowed:
            return passed(rule)
        message = f"{later.text} would be {rise:.1f} km since {since}, in {step.hours * 60:.0f} min"
        return graded(rule, rise, allowed, message)
    allowed = max(_DISTANCE_TOLERANCE_KM, _DISTANCE_TOLERANCE * km)
    allowed += earlier.half_step + later.half_step + step.unseen_km
    off = rise - km
    if abs(off) <= allowed:
        return passed(rule)
    more = "more" if off > 0 else "less"
    if later is asked:
        message = f"{later.text} would be {abs(off):.1f} km {more} than GPS drove since {since}"
    else:
        message = f"from {earlier.text} to {later.text} would be {abs(off):.1f} km {more} than GPS drove"
    return graded(rule, abs(off), allowed, message)


def _trip_reset(earlier: Observation, later: Observation, facts: Facts) -> bool:
    return earlier.quantity == "trip" and facts.noted_between("trip reset", earlier, later) is not None


def energy_never_falls(observed: Observation, context: Context) -> Verdict:
    """Energy used never falls unless a trip reset or charging was noted; by up to 0.5 kWh, as on a descent, is a doubt."""
    return _of_steps("energy_never_falls", observed, context, _energy_fall)


def _energy_fall(earlier: Observation, later: Observation, facts: Facts, asked: Observation) -> Verdict:
    fall = earlier.base - later.base
    if (
        fall <= 0
        or facts.noted_between("trip reset", earlier, later)
        or facts.charged_between(earlier, later)
    ):
        return passed("energy_never_falls")
    message = (
        f"{later.text} is {fall:.1f} kWh less than the {earlier.text} before"
        if later is asked
        else f"{earlier.text} is {fall:.1f} kWh more than the {later.text} read later"
    )
    return Verdict("energy_never_falls", Outcome.DOUBT if fall <= 0.5 else Outcome.FAIL, message)


def energy_rises_with_distance(observed: Observation, context: Context) -> Verdict:
    """Energy used rises by no more than 0.5 kWh, 0.6 kWh per km and 8 kWh per hour; up to twice that is a doubt."""
    return _of_steps("energy_rises_with_distance", observed, context, _energy_rise)


def _energy_rise(earlier: Observation, later: Observation, _facts: Facts, asked: Observation) -> Verdict:
    rise = later.base - earlier.base
    step = step_between(earlier, later)
    allowed = 0.5 + _KWH_PER_KM * step.most_km + _KW_AT_REST * step.hours
    if rise <= allowed:
        return passed("energy_rises_with_distance")
    message = (
        f"{later.text} is {rise:.1f} kWh more than the {earlier.text} before"
        if later is asked
        else f"{earlier.text} is {rise:.1f} kWh less than the {later.text} read later"
    )
    return graded("energy_rises_with_distance", rise, allowed, f"{message}, too much for {_way(step)}")


def range_follows_distance(observed: Observation, context: Context) -> Verdict:
    """Predicted range shrinks as the car drives, within 25 km, 10 % of it and four fifths of the way, unless charging was noted; up to twice that is a doubt."""
    return _of_steps("range_follows_distance", observed, context, _range_step)


def _range_step(earlier: Observation, later: Observation, facts: Facts, asked: Observation) -> Verdict:
    if facts.charged_between(earlier, later):
        return passed("range_follows_distance")
    step = step_between(earlier, later)
    km = step.most_km / 2.0 if step.km is None else step.km
    off = later.base - earlier.base + km
    allowed = _RANGE_TOLERANCE_KM + _RANGE_TOLERANCE * earlier.base + _RANGE_PER_KM * km
    allowed += step.unseen_km + (step.most_km / 2.0 if step.km is None else 0.0)
    if abs(off) <= allowed:
        return passed("range_follows_distance")
    change = later.base - earlier.base
    way = f"{abs(change):.0f} km {'more' if change > 0 else 'less'}"
    back = f"{abs(change):.0f} km {'less' if change > 0 else 'more'}"
    message = (
        f"{later.text} is {way} than the {earlier.text} before"
        if later is asked
        else f"{earlier.text} is {back} than the {later.text} read later"
    )
    return graded("range_follows_distance", abs(off), allowed, f"{message}, odd after {_way(step)}")


def temperature_changes_slowly(observed: Observation, context: Context) -> Verdict:
    """A temperature changes by no more than 4 degC and 30 degC per hour; up to twice that is a doubt."""
    return _of_steps("temperature_changes_slowly", observed, context, _temperature_step)


def _temperature_step(earlier: Observation, later: Observation, _facts: Facts, asked: Observation) -> Verdict:
    step = step_between(earlier, later)
    change = abs(later.base - earlier.base)
    allowed = _DEGC + _DEGC_PER_H * step.hours + earlier.half_step + later.half_step
    if change <= allowed:
        return passed("temperature_changes_slowly")
    message = (
        f"{later.text} is {change:.0f} \N{DEGREE SIGN}C off the {earlier.text} before"
        if later is asked
        else f"{earlier.text} is {change:.0f} \N{DEGREE SIGN}C off the {later.text} read later"
    )
    return graded(
        "temperature_changes_slowly", change, allowed, f"{message}, too much for {step.hours * 60:.0f} min"
    )


def _way(step: Step) -> str:
    if step.km is None:
        return f"{step.hours * 60:.0f} min"
    return f"{step.km:.1f} km" if step.unseen_km < 0.1 else f"{step.km:.1f} to {step.most_km:.1f} km"
