"""How far the car drove, at each fix. Pure.

Summing the steps from fix to fix overstates a drive: every step holds the noise of two fixes, and noise across the
road only ever lengthens it (3 m of it at 1 Hz adds 1 % at 31 m/s, and 5 % at 13 m/s), even while standing. So:

1. *By speed.* Receivers measure speed from the carrier's Doppler shift, whose error is some centimetres a second and
   averages out. Where both ends of a step have a speed, are at most 3 s apart, the step is their mean times the time.
   A speed below `STANDING_MPS` between two others below it is the receiver's noise, and counts as none.
2. *By position.* The steps of the path after smoothing (`smoothing`), with the white noise estimated from the track
   itself, so that a quiet receiver's track is left as it is. While the car stands, its wander counts as none.
3. *Which.* Speeds are held against positions minute by minute; a minute in which they disagree by more than
   noise explains goes by position, and if they disagree by more than 1 % over the whole drive, all of it does.
4. *Gaps* longer than `GAP_S` count as a straight line; leaps and gaps of hours count as nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logger.core.fixes import GAP_S, TOP_SPEED_MPS, is_leap
from logger.core.geodesy import Floats
from logger.core.smoothing import smooth, white_noise_m
from logger.core.standing import without_wander
from logger.model import Issue

OTHER_DAY_S = 6 * 3600.0
"""A longer gap parts two outings."""

STANDING_MPS = 0.3
"""Three times the speed noise of an ordinary receiver (0.1 m/s, common practice)."""

_DOPPLER_STEP_S = 3.0
_MINUTE_S = 60.0
_MINUTE_TOLERANCE_M = 20.0
_MINUTE_TOLERANCE = 0.05
_DRIVE_TOLERANCE = 0.01
_DRIVE_ENOUGH_M = 5_000.0
_LEAST_NOISE_M = 0.05


def driven_steps_m(
    seconds: Floats, east: Floats, north: Floats, speed_mps: Floats
) -> tuple[Floats, tuple[Issue, ...]]:
    """Return the distance driven between each of n fixes and the next, shape (n-1,), all >= 0, and doubts.

    Args:
        seconds: rising times, shape (n,), n >= 1.
        east: the steps from each fix to the next, in metres, shape (n-1,).
        north: the same, shape (n-1,).
        speed_mps: the receiver's speed over ground, shape (n,), NaN where it gave none.
    """
    steps_s = np.diff(seconds)
    chords = np.hypot(east, north)
    by_position = np.where(is_leap(steps_s, chords) | (steps_s > OTHER_DAY_S), 0.0, chords)
    together = (steps_s <= GAP_S) & ~is_leap(steps_s, chords)
    _smooth_pieces(seconds, east, north, together, by_position)
    by_speed = _by_speed(steps_s, speed_mps, together)
    trusted, issues = _trusted(seconds[:-1], by_speed, by_position)
    return np.where(trusted, by_speed, by_position), issues


def _smooth_pieces(
    seconds: Floats, east: Floats, north: Floats, together: NDArray[np.bool_], by_position: Floats
) -> None:
    """Put the smoothed steps into `by_position` wherever fixes follow each other without a gap."""
    east_m = np.concatenate(([0.0], np.cumsum(east)))
    north_m = np.concatenate(([0.0], np.cumsum(north)))
    noise_m = white_noise_m(seconds, east_m, north_m)
    edges = np.concatenate(([0], np.flatnonzero(~together) + 1, [len(seconds)]))
    for start, stop in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        if stop - start < 2:
            continue
        piece = slice(start, stop)
        path_east, path_north, sd_m = east_m[piece] - east_m[start], north_m[piece] - north_m[start], 0.0
        if noise_m is not None:
            path = smooth(seconds[piece], path_east, path_north, max(noise_m, _LEAST_NOISE_M))
            path_east, path_north, sd_m = path.east_m, path.north_m, path.sd_m
        by_position[start : stop - 1] = without_wander(seconds[piece], path_east, path_north, sd_m)


def _by_speed(steps_s: Floats, speed_mps: Floats, together: NDArray[np.bool_]) -> Floats:
    """Return the steps by the trapezoidal rule over the receiver's speeds, NaN where there are none to go by."""
    with np.errstate(invalid="ignore"):
        known = np.where((speed_mps >= 0.0) & (speed_mps <= TOP_SPEED_MPS), speed_mps, np.nan)
    slow = np.concatenate(([True], known < STANDING_MPS, [True]))
    # A single slow fix is a car coming to a halt or leaving; only slow ones in a row are a standing car.
    moving = np.where(slow[:-2] & slow[1:-1] & slow[2:], 0.0, known)
    usable = together & (steps_s <= _DOPPLER_STEP_S)
    return np.where(usable, (moving[:-1] + moving[1:]) / 2.0 * steps_s, np.nan)


def _trusted(
    seconds: Floats, by_speed: Floats, by_position: Floats
) -> tuple[NDArray[np.bool_], tuple[Issue, ...]]:
    """Return which steps go by speed, and an Issue when speeds that exist are not used."""
    known = ~np.isnan(by_speed)
    if not known.any():
        return known, ()
    minute = ((seconds - seconds[0]) // _MINUTE_S).astype(np.int64)
    _, minute = np.unique(minute, return_inverse=True)
    speed_sum = np.bincount(minute, np.where(known, by_speed, 0.0))
    position_sum = np.bincount(minute, np.where(known, by_position, 0.0))
    off = np.abs(speed_sum - position_sum)
    agrees = off <= _MINUTE_TOLERANCE_M + _MINUTE_TOLERANCE * position_sum
    trusted = known & agrees[minute]
    total = float(np.sum(by_position[trusted]))
    ratio = float(np.sum(by_speed[trusted])) / total if total > _DRIVE_ENOUGH_M else 1.0
    if abs(ratio - 1.0) > _DRIVE_TOLERANCE:
        percent = abs(ratio - 1.0) * 100.0
        side = "high" if ratio > 1.0 else "low"
        message = f"the receiver's speeds are {percent:.1f} % too {side} for its positions; distance goes by position"
        return np.zeros_like(known), (Issue("track_speed_disagrees", message),)
    bad = int(np.count_nonzero(~agrees))
    if bad:
        message = (
            f"the receiver's speeds disagree with its positions in {bad} minute(s); those go by position"
        )
        return trusted, (Issue("track_speed_disagrees", message),)
    return trusted, ()
