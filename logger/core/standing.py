"""A car that stands still drives nothing, however its fixes wander. Pure.

A car *stands* at an instant when between five seconds before and five after the path is displaced by less than
`STANDING_MPS` times ten seconds and three standard deviations of that displacement, added as squares. Wander that adds nothing is
taken out, but no displacement is lost: a stretch of standing longer than noise explains (creeping in a queue) counts as
the straight line from where it began to where it ended, and the approach to a stop counts up to the spot.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STANDING_MPS = 0.8
"""Slower than this over ten seconds is standing, as far as positions can tell (slow wander reaches 0.7 m/s)."""

CREEP_M = 15.0
"""A stop that ends farther than this from where it began was creeping."""

_HALF_WINDOW_S = 5.0
_SPOT_M = 3.0


def without_wander(seconds: Floats, east_m: Floats, north_m: Floats, sd_m: float) -> Floats:
    """Return the lengths of the n-1 steps of a path, with the wander of standing taken out.

    Args:
        seconds: rising times of the n >= 2 points, none farther apart than some ten seconds.
        east_m: shape (n,).
        north_m: shape (n,).
        sd_m: standard deviation of each position, per axis.
    """
    lengths = np.hypot(np.diff(east_m), np.diff(north_m))
    points = np.column_stack((east_m, north_m))
    for stop in _stops(seconds, east_m, north_m, sd_m):
        _still(seconds, points, stop, _SPOT_M + 3.0 * sd_m, lengths)
    return lengths


def _stops(seconds: Floats, east_m: Floats, north_m: Floats, sd_m: float) -> list[tuple[int, int]]:
    """Return (first, last) indices of the points between which the car stands."""
    sooner = np.maximum(seconds - _HALF_WINDOW_S, seconds[0])
    later = np.minimum(seconds + _HALF_WINDOW_S, seconds[-1])
    moved = np.hypot(
        np.interp(later, seconds, east_m) - np.interp(sooner, seconds, east_m),
        np.interp(later, seconds, north_m) - np.interp(sooner, seconds, north_m),
    )
    stands = moved < np.hypot(STANDING_MPS * (later - sooner), 3.0 * 2.0**0.5 * sd_m)
    # A window cut short at the path's ends says little: noise alone would make it stand.
    stands &= later - sooner >= _HALF_WINDOW_S
    flips = np.diff(np.concatenate(([0], stands.astype(np.int8), [0])))
    firsts, lasts = np.flatnonzero(flips == 1), np.flatnonzero(flips == -1) - 1
    return [
        (first, last) for first, last in zip(firsts.tolist(), lasts.tolist(), strict=True) if last > first
    ]


def _still(seconds: Floats, points: Floats, stop: tuple[int, int], spot_m: float, lengths: Floats) -> None:
    """Take the wander out of `lengths` around one stop, given as the indices of its first and last point."""
    first, last = stop
    opening = seconds[first : last + 1] <= seconds[first] + _HALF_WINDOW_S
    closing = seconds[first : last + 1] >= seconds[last] - _HALF_WINDOW_S
    arrived = points[first : last + 1][opening].mean(axis=0)
    left = points[first : last + 1][closing].mean(axis=0)
    crept = float(np.linalg.norm(left - arrived))
    if crept <= CREEP_M:
        arrived = left = points[first : last + 1].mean(axis=0)
        crept = 0.0
    duration = seconds[last] - seconds[first]
    lengths[first:last] = crept * np.diff(seconds[first : last + 1]) / duration
    before = first
    while before > 0 and np.linalg.norm(points[before - 1] - arrived) < spot_m:
        before -= 1
    after = last
    while after < len(points) - 1 and np.linalg.norm(points[after + 1] - left) < spot_m:
        after += 1
    _rescale(lengths[before:first], float(np.linalg.norm(points[before] - arrived)))
    _rescale(lengths[last:after], float(np.linalg.norm(points[after] - left)))


def _rescale(lengths: Floats, total: float) -> None:
    """Shrink `lengths` in place so that they add up to no more than `total`."""
    current = float(lengths.sum())
    if current > total:
        lengths *= total / current
