"""Where the car stands on a way that leads back to its start: how far that is, going on and turning round. Pure.

The way back is the way that was driven out: the least driven distance at which the car was here before. A place where it
never was is as far out as it has driven since it was last at the start. On a loop, laps are counted by passing the start,
and what is left of one is the loop's length less what was driven of it; never less than the straight line to the start.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logger.core.geodesy import Floats, from_place_m, step_lengths_m
from logger.core.track import Track
from logger.core.way import Way

_NEAR_M = 80.0
"""Both carriageways of one road, and a receiver's error at each; other roads are rarely so close."""
_NEAR_START_M = 150.0
_APART_M = 1000.0
"""What was driven within this is the way that the car is just driving, not one that it comes by again."""
_BEHIND_M = (0.0, 400.0, 800.0)
"""The car is on a way driven before only if it was so here and here behind it: a bridge over that way is none."""
_LATE_S = 120.0
_PARKED_MPS = 3.0
_SEEN_S = 10.0
_UNSEEN_MOST_S = 600.0
_NANO = 1_000_000_000


@dataclass(frozen=True, slots=True)
class Standing:
    """Where the car stands; distances in metres.

    Attributes:
        on_m: to the start, going on as it goes now; None on the way out, where going on leads away from it.
        back_m: to the start, turning round here.
        retracing: it goes the way back that it came.
        lap: on a loop, which lap this is, from 1; else 0.
        lap_m: on a loop, its length: the sheet's, or as it was last driven where that is longer; else 0.
    """

    on_m: float | None
    back_m: float
    retracing: bool = False
    lap: int = 0
    lap_m: float = 0.0


def unseen_m(track: Track, now_utc_ns: int) -> float | None:
    """Return what was driven since the newest fix, at its speed; None when that is too long ago to tell."""
    seconds = (now_utc_ns - track.ended_utc_ns) / _NANO
    if seconds < _SEEN_S:
        return 0.0
    place = track.at(track.ended_utc_ns)
    if seconds > _UNSEEN_MOST_S or place is None or place.speed_mps is None:
        return None
    return seconds * place.speed_mps


def standing(track: Track, way: Way, began_utc_ns: int, unseen_m: float = 0.0) -> Standing | str:
    """Return where the car stands at the track's end; a sentence where it cannot be told.

    Args:
        track: all that was driven until now.
        way: what the sheet says.
        began_utc_ns: when the drive began.
        unseen_m: what was driven beyond the track's end.
    """
    start = way.start
    if start is None:
        speed = track.at(track.began_utc_ns)
        moving = speed is not None and (speed.speed_mps or 0.0) > _PARKED_MPS
        if moving and track.began_utc_ns - began_utc_ns > _LATE_S * _NANO:
            return "the first position came on the way, so the start is not known; the sheet can tell it"
        start = (float(track.lat_deg[0]), float(track.lon_deg[0]))
    passes = _passes(track, start, max(_APART_M, (way.lap_m or 0.0) / 2.0))
    if not passes:
        return "the car has not been at the sheet's start yet"
    before = _passed_before(track)
    since_m = track.length_m - passes[-1]
    before_m = since_m if before is None else abs(before.distance_m - passes[0])
    out_m = min(since_m, before_m)
    lap, lap_m = _lap(way.lap_m, passes)
    if before is not None and before.backwards:
        # What was driven unseen can only have brought it nearer.
        return Standing(before_m, out_m, retracing=True, lap=lap, lap_m=lap_m)
    out_m += unseen_m
    if way.lap_m is None:
        return Standing(None, out_m)
    straight_m = float(
        step_lengths_m(np.array([track.lat_deg[-1], start[0]]), np.array([track.lon_deg[-1], start[1]]))[0]
    )
    if straight_m <= _NEAR_START_M and unseen_m == 0.0:
        return Standing(0.0, 0.0, lap=lap, lap_m=lap_m)
    # A receiver that leaps may be anywhere, but the car is no farther off than it has driven.
    straight_m = min(straight_m, since_m)
    return Standing(max(lap_m - out_m, straight_m), max(out_m, straight_m), lap=lap, lap_m=lap_m)


@dataclass(frozen=True, slots=True)
class _Passage:
    """The car was here before, when it had driven so far; it goes that way again, or backwards."""

    distance_m: float
    backwards: bool


def _passes(track: Track, start: tuple[float, float], apart_m: float) -> list[float]:
    """Return how far the car had driven each time that it came by the start."""
    away_m = from_place_m(track.lat_deg, track.lon_deg, *start)
    passes: list[float] = []
    for begin, end in _runs(away_m <= _NEAR_START_M):
        closest_m = _closest_m(track, away_m, begin, end)
        if not passes or closest_m - passes[-1] >= apart_m:
            passes.append(closest_m)
    return passes


def _lap(sheet_m: float | None, passes: list[float]) -> tuple[int, float]:
    """Return which lap this is, and its length; a gap of two lengths is two laps, one pass unseen."""
    if sheet_m is None:
        return 0, 0.0
    laps, lap_m = 1, sheet_m
    for before_m, after_m in itertools.pairwise(passes):
        count = max(1, round((after_m - before_m) / sheet_m))
        laps, lap_m = laps + count, max(sheet_m, (after_m - before_m) / count)
    return laps, lap_m


def _passed_before(track: Track) -> _Passage | None:
    """Return when the car first was on the way that it is on now; None where it is new to it."""
    firsts = []
    for behind_m in _BEHIND_M:
        first_m = _first_here(track, track.length_m - behind_m)
        if first_m is None:
            return None
        firsts.append(first_m)
    steps = [before - after for before, after in itertools.pairwise(firsts)]
    step_m = _BEHIND_M[1]
    if all(0.5 * step_m <= step <= 1.5 * step_m for step in steps):
        return _Passage(firsts[0], backwards=False)
    if all(-1.5 * step_m <= step <= -0.5 * step_m for step in steps):
        return _Passage(firsts[0], backwards=True)
    return None


def _first_here(track: Track, at_m: float) -> float | None:
    """Return how far the car had driven when it first was where it was after `at_m`; None where that is the first time."""
    lat_deg = float(np.interp(at_m, track.distance_m, track.lat_deg))
    lon_deg = float(np.interp(at_m, track.distance_m, track.lon_deg))
    away_m = from_place_m(track.lat_deg, track.lon_deg, lat_deg, lon_deg)
    runs = _runs((away_m <= _NEAR_M) & (track.distance_m < at_m - _APART_M))
    return _closest_m(track, away_m, *runs[0]) if runs else None


def _runs(near: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return where each unbroken run of true begins, and where it has ended."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], near, [False]))))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _closest_m(track: Track, away_m: Floats, begin: int, end: int) -> float:
    return float(track.distance_m[begin + int(np.argmin(away_m[begin:end]))])
