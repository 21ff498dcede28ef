"""How much likelier a drive makes a value than one out of the blue: natural logs of ratios of densities. Pure.

Each step between two readings has two odds: that of a *usual* going on (`courses`), and that of a *surprise*: something true
that no course foresees (charged without a note, a trip reset by accident, another car's odometer). A surprise keeps
a true value alive against a likelier misheard one, so that it is asked about and not replaced.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from logger.core.plausible.courses import Course
from logger.core.plausible.strand import Floats, Steps, Strand

ANYTHING = 0.003
"""How likely a step is to lead anywhere at all."""
ANOTHER_CAR = 0.02
"""How likely an odometer is that of another car, or the step back from it."""
CHARGED = 0.004
"""How likely charging without a note is."""
CLIMBED_BACK = 0.02
"""How likely the charge is to rise by one or two, as on a descent."""
RESET = 0.004
"""How likely a trip reset without a note is."""

_FASTEST_KM_PER_H = 130.0
_USUAL_PACE_KM_PER_H = 90.0
_PACE_SD = 0.2
"""Of the pace while nobody looked, as a share."""
_AT_REST, _ANY_WAY = 0.2, 0.3
"""How likely a car is to have stood, or gone any way it can, while nobody looked."""
_DESCENT_PCT = 2.0
_RESTING_PCT_PER_H = 0.3
"""A parked car's charge falls by up to that."""
SPEED_SD_KMH = 1.3
_PACE_SD_KMH = 12.0
"""Of the speed beside the pace between readings of the trip."""
_SPEED_TAIL = 0.1
_SPEED_TAIL_SD_KMH = 6.0
_USUAL_KM_PER_KWH, _EFFICIENCY_SD, _EFFICIENCY_TAIL = 5.8, 0.35, 0.03
"""Most cars at a steady speed use 12 to 25 kWh per 100 km (common knowledge); the spread is in natural logs."""
_LEAST_KM_PER_KWH = 0.01
_CLOCK_MIN = 1.5
_CLOCK_DOUBT = 0.001

_LOG_LEAST = -60.0
"""No odds are worse: a value that nothing explains stays in the running, hopelessly."""


@dataclass(frozen=True, slots=True)
class Odds:
    """Log odds of every step, shape (n, REACH, m, m); -inf where there is no such step."""

    usual: Floats
    surprise: Floats


def log_normal(off: Floats, variance: Floats) -> Floats:
    """Return the natural log of a normal density."""
    density: Floats = -0.5 * (off * off / variance + np.log(2.0 * np.pi * variance))
    return density


def _heavy(off: Floats, variance: Floats, course: Course) -> Floats:
    """Return the log of a normal density with a little of a wider one."""
    squared, level = off * off / variance, np.log(2.0 * np.pi * variance)
    usual = math.log1p(-course.tail) - 0.5 * (squared + level)
    wide = math.log(course.tail / course.tail_sds) - 0.5 * (squared / course.tail_sds**2 + level)
    density: Floats = np.logaddexp(usual, wide)
    return density


def _safe_log(values: Floats) -> Floats:
    with np.errstate(divide="ignore"):
        return np.log(values)


def step_odds(strand_quantity: str, steps: Steps, course: Course) -> Odds:
    """Return the odds of every step of a quantity's strand."""
    return Odds(*(steps.laid_out(each, -np.inf) for each in listed_odds(strand_quantity, steps, course)))


def listed_odds(strand_quantity: str, steps: Steps, course: Course) -> tuple[Floats, Floats]:
    """Return the same as lists, shape (k,), of the steps that there are: usual, surprise."""
    with np.errstate(invalid="ignore", over="ignore"):
        if strand_quantity == "clock":
            usual = np.zeros(steps.earlier.shape)
        elif strand_quantity == "indicated_speed":
            usual = np.where(steps.both_seen, 0.0, _usual(steps, replace(course, slope=0.0, slope_sd=0.0)))
        else:
            usual = _usual(steps, course)
        usual, surprise = _ODDS.get(strand_quantity, _plain)(steps, course, usual)
    return _bounded(usual), _bounded(surprise)


def _bounded(odds: Floats) -> Floats:
    return np.fmax(odds, _LOG_LEAST)  # also of what is no number


def _usual(steps: Steps, course: Course) -> Floats:
    if course.in_logs:
        earlier, later = _safe_log(steps.earlier), _safe_log(steps.later)
        rounding = steps.rounding / np.maximum(steps.earlier * steps.later, 1e-9)
    else:
        earlier, later, rounding = steps.earlier, steps.later, steps.rounding
    change = later - earlier
    along = steps.hours if course.by_time else steps.km
    seen = course.variance(along, rounding)
    density = _heavy(change - course.slope * along, seen, course)
    unseen = steps.unseen_h > 0.0
    if not course.by_time and course.slope and unseen.any():
        density[unseen] = _unseen(change[unseen], steps.only(unseen), course, seen[unseen])
    usual: Floats = np.log(course.span) + density
    return usual


def _unseen(change: Floats, steps: Steps, course: Course, seen: Floats) -> Floats:
    """Return the density where nobody looked.

    Half of it is what the gap's straight line and usual pace make of it, the rest standing still and anything a car can
    do in the time.
    """
    unseen_sd = course.slope * _PACE_SD * _USUAL_PACE_KM_PER_H * steps.unseen_h
    density = _heavy(change - course.slope * steps.km, seen + unseen_sd**2, course)
    standing_km = np.maximum(0.0, steps.km - _USUAL_PACE_KM_PER_H * steps.unseen_h)
    at_rest = log_normal(change - course.slope * standing_km, seen)
    most = abs(course.slope) * _FASTEST_KM_PER_H * steps.unseen_h + 1e-6
    far = (change - course.slope * standing_km) * np.sign(course.slope)
    anything = np.where((far >= 0.0) & (far <= most), -np.log(most), -np.inf)
    rest = np.logaddexp(np.log(_AT_REST) + at_rest, np.log(_ANY_WAY) + anything)
    joined: Floats = np.logaddexp(np.log1p(-_AT_REST - _ANY_WAY) + density, rest)
    return joined


def _plain(_steps: Steps, _course: Course, usual: Floats) -> tuple[Floats, Floats]:
    return usual, np.full_like(usual, np.log(ANYTHING))


def _free_after_charging(steps: Steps, course: Course, usual: Floats) -> tuple[Floats, Floats]:
    """Noted charging sets range anew; nothing is expected of it then."""
    return _plain(steps, course, np.where(steps.charged, np.maximum(usual, 0.0), usual))


def _free_after_reset(steps: Steps, course: Course, usual: Floats) -> tuple[Floats, Floats]:
    """So does a noted trip reset with what is counted from it."""
    reset = np.isfinite(steps.since_reset_km)
    return _free_after_charging(steps, course, np.where(reset, np.maximum(usual, 0.0), usual))


def _charge(steps: Steps, course: Course, usual: Floats) -> tuple[Floats, Floats]:
    rise = steps.later - steps.earlier
    room = np.maximum(course.span - steps.earlier, 1.0)
    # Charged to anywhere above what was there; a little may have been used since.
    up = np.where(rise > 0.0, np.log(course.span) - np.log(room), -np.inf)
    rested = np.where(
        (rise <= 0.0) & (rise >= -2.0 - _RESTING_PCT_PER_H * steps.hours) & (steps.hours > 2.0),
        np.log(course.span / 4.0),
        -np.inf,
    )
    usual = np.where(steps.charged, np.logaddexp(usual, up), np.logaddexp(usual, np.log(0.3) + rested))
    climbed = np.where(
        (rise > 0.0) & (rise <= _DESCENT_PCT),
        np.log(CLIMBED_BACK) + np.log(course.span / _DESCENT_PCT),
        -np.inf,
    )
    surprise = np.logaddexp(np.logaddexp(np.log(CHARGED) + up, climbed), np.log(ANYTHING))
    return usual, surprise


def _trip(steps: Steps, course: Course, usual: Floats) -> tuple[Floats, Floats]:
    noted = np.isfinite(steps.since_reset_km)
    if noted.any():
        noted_km = course.slope * steps.since_reset_km[noted]
        off_km = steps.later[noted] - noted_km
        variance = steps.rounding[noted] + 0.3**2 + (0.02 * noted_km) ** 2
        usual[noted] = np.log(course.span) + _heavy(off_km, variance, course)
    # A reset nobody noted: somewhere on the way, so the trip is anything up to that way.
    way_km = np.maximum(course.slope * steps.km + _FASTEST_KM_PER_H * steps.unseen_h, 0.2)
    reset = np.where(
        (steps.later <= way_km + 0.2) & (steps.later < steps.earlier),
        np.log(RESET) + np.log(course.span) - np.log(way_km),
        -np.inf,
    )
    return usual, np.logaddexp(reset, np.log(ANYTHING))


def _odometer(_steps: Steps, _course: Course, usual: Floats) -> tuple[Floats, Floats]:
    return usual, np.full_like(usual, np.log(ANOTHER_CAR))


_ODDS = {
    "odometer": _odometer,
    "charge": _charge,
    "trip": _trip,
    "range_left": _free_after_charging,
    "energy_used": _free_after_reset,
    "efficiency": _free_after_reset,
}


def alone_odds(
    strand: Strand,
    course: Course,
    *,
    clock_ahead_min: float | None,
    together: NDArray[np.intp] | None = None,
) -> Floats:
    """Return the log odds of each value by itself, shape (n, m): 0 where nothing is known of it.

    Args:
        strand: the readings.
        course: how the quantity goes on.
        clock_ahead_min: how far the dash's clock is ahead of UTC, if that is known.
        together: numbers that readings have in common which say by themselves how many decimals the dash shows, shape
            (n,); without it all say that together.
    """
    odds = _usual_places(strand, np.zeros(len(strand.at_h), dtype=np.intp) if together is None else together)
    if strand.quantity == "indicated_speed":
        by_gps = np.isfinite(strand.gps_kmh)
        gps = np.nan_to_num(np.where(by_gps, strand.gps_kmh, strand.pace_kmh))[:, None]
        known = (by_gps | np.isfinite(strand.pace_kmh))[:, None]
        sd_kmh = np.where(by_gps, SPEED_SD_KMH, _PACE_SD_KMH)[:, None]
        base = np.nan_to_num(strand.base)
        off = base - (1.0 + course.slope) * gps
        variance = np.nan_to_num(strand.half_step) ** 2 / 3.0 + sd_kmh**2 + (course.slope_sd * gps) ** 2
        density = np.logaddexp(
            np.log1p(-_SPEED_TAIL) + log_normal(off, variance),
            np.log(_SPEED_TAIL) + log_normal(off, variance + _SPEED_TAIL_SD_KMH**2),
        )
        surprise = np.log(ANYTHING)
        odds += np.where(known, np.logaddexp(np.log(course.span) + density, surprise), 0.0)
    elif strand.quantity == "efficiency":
        off = np.log(np.maximum(np.nan_to_num(strand.base), _LEAST_KM_PER_KWH)) - np.log(_USUAL_KM_PER_KWH)
        density = np.logaddexp(
            np.log1p(-_EFFICIENCY_TAIL) + log_normal(off, np.array(_EFFICIENCY_SD**2)),
            np.log(_EFFICIENCY_TAIL / course.span),
        )
        odds += np.log(course.span) + density
    elif strand.quantity == "clock" and clock_ahead_min is not None:
        off_min = np.abs((strand.ahead_min - clock_ahead_min + 720.0) % 1440.0 - 720.0)
        odds += np.where(
            off_min <= _CLOCK_MIN, np.log(course.span / (2.0 * _CLOCK_MIN)), np.log(_CLOCK_DOUBT)
        )
    return np.where(np.isfinite(strand.base), np.maximum(np.nan_to_num(odds), _LOG_LEAST), 0.0)


def _usual_places(strand: Strand, together: NDArray[np.intp]) -> Floats:
    """Return the log odds of each value's number of decimals beside the drive's most usual one, shape (n, m).

    A display shows always the same number; half a reading is added to each count, for those who leave out "point zero".
    """
    best = strand.places[np.arange(len(strand.places)), np.argmax(strand.log_weight, axis=1)]
    known = np.isfinite(best)
    counts = np.zeros((int(together.max()) + 1, 4))
    np.add.at(counts, (together[known], best[known].astype(np.intp)), 1.0)
    shares = np.log((counts + 0.5) / (counts.max(axis=1, keepdims=True) + 0.5))
    there = np.isfinite(strand.places)
    places = np.where(there, strand.places, 0).astype(np.intp)
    odds: Floats = np.where(there, shares[together[:, None], places], 0.0)
    return odds
