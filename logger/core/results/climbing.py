"""How much a road climbs and falls, counted so that a receiver's noise is no climb. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from logger.core.geodesy import Floats
from logger.core.results.ground import Ground

LEAST_BAND_M = 5.0
BAND_SDS = 2.5
"""The dead band is so many standard deviations of the height, and no less than `LEAST_BAND_M`: chosen on TUNING drives."""
BAND_SHARE = 0.5
"""So much of the dead band is the standard deviation of what the counting itself adds or loses."""
ROADS_FACTOR = 2.0
"""The variance between the roads that may as well be counts so many times. As the one above, chosen on TUNING drives."""


@dataclass(frozen=True, slots=True)
class Sum:
    """A sum of metres with its standard deviation."""

    metres: float
    sd_m: float


@dataclass(frozen=True, slots=True)
class Climbs:
    """What a road climbs and falls in rises and falls of at least `band_m`."""

    up: Sum
    down: Sum
    band_m: float


def climbs_of(ground: Ground) -> Climbs:
    """Return what the road climbs and falls, with what is not known of it.

    The middle between the estimate, which is too smooth, and the mean of the roads that may as well be, which are too rough.
    """
    band_m = max(LEAST_BAND_M, math.ceil(2.0 * BAND_SDS * ground.sd_m) / 2.0)
    smooth = np.array(climbed(ground.height_m, band_m))
    others = np.array([climbed(other, band_m) for other in ground.others_m])
    rough = others.mean(axis=0)
    sds = np.sqrt(ROADS_FACTOR * others.var(axis=0) + (rough - smooth) ** 2 + (BAND_SHARE * band_m) ** 2)
    up, down = (Sum(float(metres), float(sd)) for metres, sd in zip((smooth + rough) / 2.0, sds, strict=True))
    return Climbs(up, down, band_m)


def climbed(height_m: Floats, band_m: float) -> tuple[float, float]:
    """Return what a profile climbs and falls from turning point to turning point, each at least `band_m` from the last.

    Args:
        height_m: shape (n,), n >= 1.
        band_m: more than 0; what rises or falls by less counts as level.
    """
    sums = {1: 0.0, -1: 0.0}
    way = 0
    low = high = begin = newest = float(height_m[0])
    for height in _turns(height_m):
        if way == 0:
            low, high = min(low, height), max(high, height)
            if high - low >= band_m:
                way, newest = (1 if height == high else -1), height
                begin = low if way == 1 else high
        elif way * (height - newest) >= 0.0:
            newest = height
        elif way * (newest - height) >= band_m:
            sums[way] += way * (newest - begin)
            begin, newest, way = newest, height, -way
    if way:
        sums[way] += way * (newest - begin)
    return sums[1], sums[-1]


def _turns(height_m: Floats) -> list[float]:
    """Return the heights of the local extremes, and of both ends."""
    steps = np.diff(height_m)
    turns = np.flatnonzero(steps[1:] * steps[:-1] <= 0.0) + 1
    return [float(each) for each in height_m[np.concatenate(([0], turns, [len(height_m) - 1]))]]
