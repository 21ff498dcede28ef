"""From the fixes as they came to fixes that a distance can be measured along. Pure.

Sorting, repeated times and positions where no car can have been. What is left out or odd is said in Issues;
the fixes themselves stay in the store.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from logger.core.geodesy import steps_m
from logger.core.utc import format_utc
from logger.model import Fix, Issue

TOP_SPEED_MPS = 120.0
"""Faster than this no car on a road goes; between two fixes it is a leap of the receiver."""

LEAP_ALLOWANCE_M = 20.0
"""What noise may add to the step between two fixes that are close in time."""

GAP_S = 10.0
"""Longer than this without a fix, nobody was measuring."""

_Floats = NDArray[np.float64]

_TURN_MPS2 = 12.0
_SPIKE_M = 30.0
_JUMP_COST_FIXES = 10
_LOOK_BACK_RUNS = 50
_FARTHEST_NS = 2**62
_EARTH_RADIUS_M = 6_371_008.8


def cleaned(fixes: Iterable[Fix]) -> tuple[tuple[Fix, ...], tuple[Issue, ...]]:
    """Return the usable fixes, in order of time, each time once, and what had to be left out or put right.

    The result does not depend on the order of `fixes`.
    """
    given = tuple(fixes)
    placed = tuple(fix for fix in given if on_earth(fix.lat_deg, fix.lon_deg))
    issues = []
    if len(placed) < len(given):
        what = counted(len(given) - len(placed), "fix has a position", "fixes have positions")
        issues.append(Issue("track_bad_position", f"{what} that cannot be on Earth; left out"))
    usable, time_issues = in_our_time(placed)
    issues += time_issues
    early = _out_of_order(usable)
    if early:
        what = counted(early, "fix was", "fixes were")
        issues.append(Issue("track_out_of_order", f"{what} out of order in time; sorted"))
    single, single_issues = _each_time_once(sorted(usable, key=_sort_key))
    likely, leap_issues = _without_leaps(single)
    return likely, (*issues, *single_issues, *leap_issues)


def is_leap(seconds: _Floats, lengths_m: _Floats) -> NDArray[np.bool_]:
    """Return which steps are longer than a car can have driven in their time; shapes (n,)."""
    return np.asarray(lengths_m > TOP_SPEED_MPS * seconds + LEAP_ALLOWANCE_M)


def on_earth(lat_deg: float, lon_deg: float) -> bool:
    """Whether both coordinates are numbers within their range."""
    return abs(lat_deg) <= 90.0 and abs(lon_deg) <= 180.0


def in_our_time(fixes: Sequence[Fix]) -> tuple[tuple[Fix, ...], tuple[Issue, ...]]:
    """Leave out the fixes dated before 1823 or after 2116: 2**62 ns from 1970, which the arithmetic can hold."""
    kept = tuple(fix for fix in fixes if abs(fix.utc_ns) < _FARTHEST_NS)
    if len(kept) == len(fixes):
        return kept, ()
    what = counted(len(fixes) - len(kept), "fix has a date", "fixes have dates")
    return kept, (Issue("track_bad_time", f"{what} that cannot be; left out"),)


def counted(count: int, one: str, many: str) -> str:
    """Return a count with its noun phrase."""
    return f"1 {one}" if count == 1 else f"{count} {many}"


def _out_of_order(fixes: Sequence[Fix]) -> int:
    """How many fixes come after a later one."""
    newest = None
    count = 0
    for fix in fixes:
        if newest is not None and fix.utc_ns < newest:
            count += 1
        else:
            newest = fix.utc_ns
    return count


def _sort_key(fix: Fix) -> tuple[float, ...]:
    """Time first; of one time the fix that knows most and is surest comes first, whatever order they came in."""
    rest = (fix.altitude_m, fix.speed_mps, fix.hdop)
    known = tuple(math.inf if value is None else value for value in rest)
    return (fix.utc_ns, sum(value is None for value in rest), known[2], fix.lat_deg, fix.lon_deg, *known)


def _each_time_once(ordered: list[Fix]) -> tuple[list[Fix], list[Issue]]:
    """Keep the first of the fixes that share a time."""
    kept: list[Fix] = []
    duplicates = repeats = 0
    first_repeat_ns = 0
    for fix in ordered:
        if not kept or fix.utc_ns != kept[-1].utc_ns:
            kept.append(fix)
        elif fix == kept[-1]:
            duplicates += 1
        else:
            first_repeat_ns = first_repeat_ns if repeats else fix.utc_ns
            repeats += 1
    issues = []
    if duplicates:
        what = counted(duplicates, "fix is an exact copy of another", "fixes are exact copies of others")
        issues.append(Issue("track_duplicate", f"{what}; left out"))
    if repeats:
        what = counted(repeats, "fix has", "fixes have")
        issues.append(
            Issue(
                "track_repeated_time",
                f"{what} the same time as another but differ from it, first at {format_utc(first_repeat_ns)}; left out",
            )
        )
    return kept, issues


def _without_leaps(fixes: list[Fix]) -> tuple[tuple[Fix, ...], list[Issue]]:
    """Leave out fixes at places where the car cannot have been, given those before and after."""
    if len(fixes) < 3:
        return tuple(fixes), []
    kept = _longest_drive(fixes)
    kept = [kept[index] for index in _smooth_enough(kept)]
    if len(kept) == len(fixes):
        return tuple(fixes), []
    first = next(
        (fix for fix, stays in zip(fixes, kept, strict=False) if fix is not stays),
        fixes[len(kept)] if len(kept) < len(fixes) else fixes[-1],
    )
    what = counted(len(fixes) - len(kept), "fix lies", "fixes lie")
    message = f"{what} where the car cannot have been, first at {format_utc(first.utc_ns)}; left out"
    return tuple(kept), [Issue("track_leap", message)]


def _longest_drive(fixes: list[Fix]) -> list[Fix]:
    """Keep the most fixes that a car can have driven along.

    The fixes fall into runs without a leap. A chain of runs is sought that holds the most fixes, where a leap
    inside the chain costs as much as `_JUMP_COST_FIXES` fixes: a few stray fixes are cheaper to leave out than
    to leap to and back from, while two long runs with a leap between them are both kept.
    """
    seconds = np.array([fix.utc_ns - fixes[0].utc_ns for fix in fixes], dtype=np.float64) / 1e9
    lat = np.radians([fix.lat_deg for fix in fixes])
    lon = np.radians([fix.lon_deg for fix in fixes])
    # A sphere serves here: whether a step is a leap is no matter of half a percent.
    points = np.column_stack((np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)))
    leaps = is_leap(np.diff(seconds), _apart_m(points[:-1], points[1:]))
    if not leaps.any():
        return fixes
    starts = np.concatenate(([0], np.flatnonzero(leaps) + 1))
    ends = np.concatenate((starts[1:] - 1, [len(fixes) - 1]))
    best = (ends - starts + 1).astype(np.float64)
    before = np.full(len(starts), -1)
    for run in range(1, len(starts)):
        low = max(0, run - _LOOK_BACK_RUNS)
        from_ends = ends[low:run]
        length = _apart_m(points[from_ends], points[starts[run]])
        leap = is_leap(seconds[starts[run]] - seconds[from_ends], length)
        scores = best[low:run] - leap * _JUMP_COST_FIXES
        choice = int(np.argmax(scores))
        if scores[choice] > 0.0:
            best[run] += scores[choice]
            before[run] = low + choice
    chain = [int(np.argmax(best))]
    while before[chain[-1]] >= 0:
        chain.append(int(before[chain[-1]]))
    return [fix for run in reversed(chain) for fix in fixes[starts[run] : ends[run] + 1]]


def _smooth_enough(fixes: list[Fix]) -> list[int]:
    """Return the indices of the fixes that are no single spike.

    A spike is off the line between its neighbours by more than turning and braking explain, and by clearly more
    than its neighbours are: a step to another place, which both its sides share, is none.
    """
    if len(fixes) < 3:
        return list(range(len(fixes)))
    seconds = np.array([fix.utc_ns - fixes[0].utc_ns for fix in fixes], dtype=np.float64) / 1e9
    steps = np.diff(seconds)
    east, north = steps_m(np.array([fix.lat_deg for fix in fixes]), np.array([fix.lon_deg for fix in fixes]))
    share = steps[:-1] / (steps[:-1] + steps[1:])
    off = np.zeros(len(fixes) + 2)
    off[2:-2] = np.hypot(
        east[:-1] - share * (east[:-1] + east[1:]), north[:-1] - share * (north[:-1] + north[1:])
    )
    middle = off[2:-2]
    spike = middle > _TURN_MPS2 / 2.0 * steps[:-1] * steps[1:] + _SPIKE_M
    spike &= middle > 1.5 * np.maximum(off[1:-3], off[3:-1])
    spike &= np.maximum(steps[:-1], steps[1:]) <= GAP_S
    return np.flatnonzero(~np.concatenate(([False], spike, [False]))).tolist()


def _apart_m(ones: _Floats, others: _Floats) -> _Floats:
    """Great-circle distances in metres between unit vectors, shapes (..., 3)."""
    half_chord = np.linalg.norm(ones - others, axis=-1) / 2.0
    return np.asarray(2.0 * _EARTH_RADIUS_M * np.arcsin(np.minimum(half_chord, 1.0)))
