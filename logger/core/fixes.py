"""From the fixes as they came to fixes that a distance can be measured along. Pure.

Sorting, repeated times and positions where no car can have been. What is left out or odd is said in Issues;
the fixes themselves stay in the store.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from logger.core.fix_columns import FARTHEST_NS, FixColumns
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
Indices = NDArray[np.int64]

_TURN_MPS2 = 12.0
_SPIKE_M = 30.0
_JUMP_COST_FIXES = 10
_LOOK_BACK_RUNS = 50
_EARTH_RADIUS_M = 6_371_008.8


def cleaned(fixes: Iterable[Fix]) -> tuple[tuple[Fix, ...], tuple[Issue, ...]]:
    """Return the usable fixes, in order of time, each time once, and what had to be left out or put right.

    The result does not depend on the order of `fixes`.
    """
    given = tuple(fixes)
    which, issues = usable(FixColumns.of(given))
    return tuple(given[index] for index in which.tolist()), issues


def usable(fixes: FixColumns) -> tuple[Indices, tuple[Issue, ...]]:
    """Return which fixes `cleaned` returns, by their indices, and its issues."""
    issues = []
    placed = (np.abs(fixes.lat_deg) <= 90.0) & (np.abs(fixes.lon_deg) <= 180.0)
    if not placed.all():
        what = counted(int(np.count_nonzero(~placed)), "fix has a position", "fixes have positions")
        issues.append(Issue("track_bad_position", f"{what} that cannot be on Earth; left out"))
    in_time = np.abs(fixes.utc_ns) < FARTHEST_NS
    if not (in_time | ~placed).all():
        issues.append(_bad_times(int(np.count_nonzero(placed & ~in_time))))
    kept = np.flatnonzero(placed & in_time)
    times = fixes.utc_ns[kept]
    early = int(np.count_nonzero(times < np.maximum.accumulate(times))) if len(times) else 0
    if early:
        what = counted(early, "fix was", "fixes were")
        issues.append(Issue("track_out_of_order", f"{what} out of order in time; sorted"))
    single, single_issues = _each_time_once(fixes, kept[_in_order(fixes.taken(kept))])
    likely, leap_issues = _without_leaps(fixes, single)
    return likely, (*issues, *single_issues, *leap_issues)


def is_leap(seconds: _Floats, lengths_m: _Floats) -> NDArray[np.bool_]:
    """Return which steps are longer than a car can have driven in their time; shapes (n,)."""
    return np.asarray(lengths_m > TOP_SPEED_MPS * seconds + LEAP_ALLOWANCE_M)


def on_earth(lat_deg: float, lon_deg: float) -> bool:
    """Whether both coordinates are numbers within their range."""
    return abs(lat_deg) <= 90.0 and abs(lon_deg) <= 180.0


def in_our_time(fixes: Sequence[Fix]) -> tuple[tuple[Fix, ...], tuple[Issue, ...]]:
    """Leave out the fixes dated before 1823 or after 2116: 2**62 ns from 1970, which the arithmetic can hold."""
    kept = tuple(fix for fix in fixes if abs(fix.utc_ns) < FARTHEST_NS)
    return kept, () if len(kept) == len(fixes) else (_bad_times(len(fixes) - len(kept)),)


def _bad_times(count: int) -> Issue:
    what = counted(count, "fix has a date", "fixes have dates")
    return Issue("track_bad_time", f"{what} that cannot be; left out")


def counted(count: int, one: str, many: str) -> str:
    """Return a count with its noun phrase."""
    return f"1 {one}" if count == 1 else f"{count} {many}"


def _in_order(fixes: FixColumns) -> Indices:
    """Return the order of time; of one time the fix that knows most and is surest comes first, whatever order they came in."""
    if (np.diff(fixes.utc_ns) > 0).all():
        return np.arange(len(fixes))
    rest = (fixes.altitude_m, fixes.speed_mps, fixes.hdop)
    unknown = np.sum([np.isnan(column) for column in rest], axis=0)
    altitude, speed, hdop = (np.where(np.isnan(column), np.inf, column) for column in rest)
    # The key that counts most comes last.
    return np.lexsort((speed, altitude, fixes.lon_deg, fixes.lat_deg, hdop, unknown, fixes.utc_ns))


def _each_time_once(fixes: FixColumns, ordered: Indices) -> tuple[Indices, list[Issue]]:
    """Keep the first of the fixes that share a time."""
    times = fixes.utc_ns[ordered]
    first = np.concatenate(([True], times[1:] != times[:-1])) if len(times) else np.zeros(0, dtype=bool)
    if first.all():
        return ordered, []
    group = np.cumsum(first) - 1
    ones, others = fixes.taken(ordered[first][group]), fixes.taken(ordered)
    same = np.ones(len(ordered), dtype=bool)
    for name in ("lat_deg", "lon_deg", "altitude_m", "speed_mps", "hdop"):
        one, other = getattr(ones, name), getattr(others, name)
        same &= (one == other) | (np.isnan(one) & np.isnan(other))
    issues = []
    duplicates, repeats = int(np.count_nonzero(same & ~first)), ~same
    if duplicates:
        what = counted(duplicates, "fix is an exact copy of another", "fixes are exact copies of others")
        issues.append(Issue("track_duplicate", f"{what}; left out"))
    if repeats.any():
        what = counted(int(np.count_nonzero(repeats)), "fix has", "fixes have")
        when = format_utc(int(times[repeats][0]))
        issues.append(
            Issue(
                "track_repeated_time",
                f"{what} the same time as another but differ from it, first at {when}; left out",
            )
        )
    return ordered[first], issues


def _without_leaps(fixes: FixColumns, which: Indices) -> tuple[Indices, list[Issue]]:
    """Leave out fixes at places where the car cannot have been, given those before and after."""
    if len(which) < 3:
        return which, []
    kept = _longest_drive(fixes.taken(which))
    kept = kept[_smooth_enough(fixes.taken(which[kept]))]
    if len(kept) == len(which):
        return which, []
    gone = np.flatnonzero(kept != np.arange(len(kept)))
    first = int(fixes.utc_ns[which[gone[0] if len(gone) else len(kept)]])
    what = counted(len(which) - len(kept), "fix lies", "fixes lie")
    message = f"{what} where the car cannot have been, first at {format_utc(first)}; left out"
    return which[kept], [Issue("track_leap", message)]


def _longest_drive(fixes: FixColumns) -> Indices:
    """Return the indices of the most fixes that a car can have driven along.

    The fixes fall into runs without a leap. A chain of runs is sought that holds the most fixes, where a leap
    inside the chain costs as much as `_JUMP_COST_FIXES` fixes: a few stray fixes are cheaper to leave out than
    to leap to and back from, while two long runs with a leap between them are both kept.
    """
    seconds = (fixes.utc_ns - fixes.utc_ns[0]).astype(np.float64) / 1e9
    lat, lon = np.radians(fixes.lat_deg), np.radians(fixes.lon_deg)
    # A sphere serves here: whether a step is a leap is no matter of half a percent.
    points = np.column_stack((np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)))
    leaps = is_leap(np.diff(seconds), _apart_m(points[:-1], points[1:]))
    if not leaps.any():
        return np.arange(len(fixes))
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
    return np.concatenate([np.arange(starts[run], ends[run] + 1) for run in reversed(chain)])


def _smooth_enough(fixes: FixColumns) -> Indices:
    """Return the indices of the fixes that are no single spike.

    A spike is off the line between its neighbours by more than turning and braking explain, and by clearly more
    than its neighbours are: a step to another place, which both its sides share, is none.
    """
    if len(fixes) < 3:
        return np.arange(len(fixes))
    seconds = (fixes.utc_ns - fixes.utc_ns[0]).astype(np.float64) / 1e9
    steps = np.diff(seconds)
    east, north = steps_m(fixes.lat_deg, fixes.lon_deg)
    share = steps[:-1] / (steps[:-1] + steps[1:])
    off = np.zeros(len(fixes) + 2)
    off[2:-2] = np.hypot(
        east[:-1] - share * (east[:-1] + east[1:]), north[:-1] - share * (north[:-1] + north[1:])
    )
    middle = off[2:-2]
    spike = middle > _TURN_MPS2 / 2.0 * steps[:-1] * steps[1:] + _SPIKE_M
    spike &= middle > 1.5 * np.maximum(off[1:-3], off[3:-1])
    spike &= np.maximum(steps[:-1], steps[1:]) <= GAP_S
    return np.flatnonzero(~np.concatenate(([False], spike, [False])))


def _apart_m(ones: _Floats, others: _Floats) -> _Floats:
    """Great-circle distances in metres between unit vectors, shapes (..., 3)."""
    half_chord = np.linalg.norm(ones - others, axis=-1) / 2.0
    return np.asarray(2.0 * _EARTH_RADIUS_M * np.arcsin(np.minimum(half_chord, 1.0)))
