"""The wind as the sheet tells it, along the way as it was driven, with what is not known of it. Pure.

A noted wind is one vector for a whole drive. What it was is taken to be off by an error of its mean, along and across, and by
a slow wander about that mean, along and across, of so many hours (a first-order Gauss-Markov process in time). Both come as
*modes*: headwinds along the way that are each one standard deviation of something independent of the others.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logger.core.geodesy import Floats
from logger.core.results.course import Course
from logger.core.results.told import Told
from logger.core.units import KMH_PER_MPS

LEAST_SD_MPS = 0.5
SPEED_SD = 0.2
"""Of the mean speed, as a share of it; and no less than `LEAST_SD_MPS`."""
DIRECTION_SD_RAD = 0.26
"""15 degrees."""
WANDER_SD = 0.2
"""Of the wander of each component, as a share of the speed."""
WANDER_S = 3_600.0

_BLOCK_S = 1_200.0
_MOST_BLOCKS = 24
_KEPT = 0.97


@dataclass(frozen=True, slots=True, eq=False)
class Wind:
    """The wind of a drive.

    Attributes:
        speed_mps: its mean speed.
        east_mps, north_mps: where it blows to.
        along_sd, across_sd: standard deviations of its mean, along its direction and across, in m/s.
    """

    speed_mps: float
    east_mps: float
    north_mps: float
    along_sd: float
    across_sd: float

    def headwind_mps(self, course: Course) -> Floats:
        """Return the wind against the car in each cell, below 0 from behind."""
        return -(course.east * self.east_mps + course.north * self.north_mps)

    def modes_mps(self, course: Course) -> Floats:
        """Return what is not known of the headwind, shape (k, n): independent, each of one standard deviation."""
        towards = np.arctan2(self.east_mps, self.north_mps)
        along = -(course.east * np.sin(towards) + course.north * np.cos(towards))
        across = -(course.east * np.cos(towards) - course.north * np.sin(towards))
        modes = [self.along_sd * along, self.across_sd * across]
        for shape in _wanders(course):
            modes += [WANDER_SD * self.speed_mps * shape * part for part in (along, across)]
        return np.array(modes)


def wind_of(told: Told) -> Wind | str:
    """Return the wind that the sheet tells; a sentence where it does not."""
    speed, direction = told.get("wind"), told.get("wind_from")
    if speed is None:
        return "The sheet tells no wind; write wind_mps (or wind_mph, wind_kmh) and wind_from_deg."
    if direction is None and speed > 0.0:
        return "The sheet does not tell where the wind came from; write wind_from_deg, clockwise from north."
    mps = speed / KMH_PER_MPS
    towards = np.radians((direction or 0.0) + 180.0)
    return Wind(
        speed_mps=mps,
        east_mps=mps * float(np.sin(towards)),
        north_mps=mps * float(np.cos(towards)),
        along_sd=float(np.hypot(LEAST_SD_MPS, SPEED_SD * mps)),
        across_sd=float(np.hypot(LEAST_SD_MPS, DIRECTION_SD_RAD * mps)),
    )


def drag_factor(speed_mps: Floats, headwind_mps: Floats, lengths_m: Floats) -> float:
    """Return the mean of air speed times its size over the mean of the square of the speed: 1 in calm air.

    Args:
        speed_mps: over ground, shape (n,).
        headwind_mps: shape (n,).
        lengths_m: what each counts for, shape (n,).
    """
    through_air = speed_mps + headwind_mps
    return float(np.sum(through_air * np.abs(through_air) * lengths_m) / np.sum(speed_mps**2 * lengths_m))


def _wanders(course: Course) -> list[Floats]:
    """Return the shapes over the cells that a slow wander of variance 1 is made of (Karhunen and Loeve), the largest first."""
    span_s = float(course.middle_s[-1] - course.middle_s[0])
    count = int(np.clip(np.ceil(span_s / _BLOCK_S), 2, _MOST_BLOCKS))
    block_s = max(span_s / count, 1.0)
    middles = (np.arange(count) + 0.5) * block_s
    values, vectors = np.linalg.eigh(np.exp(-np.abs(middles[:, None] - middles) / WANDER_S))
    shares = np.cumsum(values[::-1]) / values.sum()
    since_s = course.middle_s - course.middle_s[0]
    return [
        np.asarray(np.interp(since_s, middles, np.sqrt(values[-place]) * vectors[:, -place]))
        for place in range(1, 2 + int(np.searchsorted(shares, _KEPT)))
    ]
