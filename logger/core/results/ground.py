"""The height of the road from a receiver's altitudes: a smoother that learns the receiver's noise from the drive itself. Pure.

A receiver's altitude is the road's plus two errors: white noise from fix to fix, and a slow wander of some metres over a minute
or so. The altitudes are averaged in cells of equal distance; `ground_spectrum` tells road from noise. The two ends are
estimated by a Gaussian process through what lies near them, the way between them by Wiener's filter on the sine series of what
is left after a straight line from end to end. What is not known of the road there has the spectrum road x noise / (road + noise).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from logger.core.fixes import GAP_S
from logger.core.geodesy import Floats
from logger.core.results.course import NO_DISTANCES, has_distances
from logger.core.results.ground_spectrum import (
    USUAL,
    densities,
    from_sines,
    likeliest,
    sines,
    spread_evenly,
    starts_of,
)
from logger.core.track import Track

CELL_M = 50.0
LEAST_CELLS = 24
LEAST_KNOWN = 0.5
"""So much of the way must have altitudes."""
LEAP_M = 30.0
"""An altitude so far off the median of those around it is left out."""
END_FACTOR = 1.25
"""What is not known of the ends is so many times what the process says: chosen on TUNING drives."""

_LOWEST_M, _HIGHEST_M = -500.0, 9_000.0
_MOST_CELLS = 8_192
_LEAP_WINDOW = 41
_FIRST_END_M = 2_000.0
_END_M = 15_000.0
_END_CELLS = 60
_GRADE_SD = 0.05
_STANDS_OUT = 9.0
_NANO = 1e9


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """The road's height along the way.

    Attributes:
        distance_m: middles of the cells, shape (n,).
        height_m: the estimate, shape (n,).
        others_m: roads that may as well be, by what is not known of the road and of the noise; shape (10, n). They come from
            fixed numbers, so that the same drive has always the same.
        sd_m: the standard deviation of the height, midway.
        noise_m: that of the receiver's altitude about the road, as the drive itself tells it.
        known: the share of the way that has altitudes.
    """

    distance_m: Floats
    height_m: Floats
    others_m: Floats
    sd_m: float
    noise_m: float
    known: float


@lru_cache(maxsize=4)
def ground_of(track: Track) -> Ground | str:
    """Return the height of the road; a sentence where it cannot be told. Remembered for the last few tracks."""
    if not _on_land(track.altitude_m).any():
        return "The receiver gave no altitudes."
    if not has_distances(track):
        return NO_DISTANCES
    cell_m = max(CELL_M, track.length_m / _MOST_CELLS)
    count = int(track.length_m // cell_m)
    if count < LEAST_CELLS:
        return f"The way is too short for a profile: {track.length_m / 1000.0:.2f} km."
    altitude, has = _cells(track, cell_m, count)
    known = float(np.mean(has))
    if known < LEAST_KNOWN:
        return f"Only {100.0 * known:.0f} % of the way has altitudes; half of it is needed."
    middles = (np.arange(count, dtype=np.float64) + 0.5) * cell_m
    usual = np.log(np.array(USUAL, dtype=np.float64))
    usual[3] += math.log(_pace_mps(track))
    return _smoothed(middles, np.interp(middles, middles[has], altitude[has]), known, usual)


def _pace_mps(track: Track) -> float:
    """Return the median speed of driving."""
    steps_s, steps_m = np.diff(track.utc_ns) / _NANO, np.diff(track.distance_m)
    driven = steps_m > 0.0
    return float(np.clip(np.median(steps_m[driven] / steps_s[driven]), 3.0, 60.0))


def _cells(track: Track, cell_m: float, count: int) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the mean altitude of each cell, and which have any; a cell between two fixes has what lies between them."""
    good = _on_land(track.altitude_m)
    good[good] = _without_leaps(track.altitude_m[good])
    seconds = (track.utc_ns - track.utc_ns[0]).astype(np.float64) / _NANO
    at_m, altitude, at_s = track.distance_m[good], track.altitude_m[good], seconds[good]
    if len(at_m) < 2:
        return np.zeros(count), np.zeros(count, dtype=np.bool_)
    cell = np.minimum((at_m / cell_m).astype(np.int64), count - 1)
    numbers = np.bincount(cell, minlength=count)
    sums = np.bincount(cell, altitude, minlength=count)
    middles = (np.arange(count, dtype=np.float64) + 0.5) * cell_m
    after = np.clip(np.searchsorted(at_m, middles), 1, len(at_m) - 1)
    between = (at_s[after] - at_s[after - 1] <= GAP_S) & (middles >= at_m[0]) & (middles <= at_m[-1])
    means = np.where(numbers > 0, sums / np.maximum(numbers, 1), np.interp(middles, at_m, altitude))
    return means, np.asarray((numbers > 0) | between)


def _on_land(altitude: Floats) -> NDArray[np.bool_]:
    """Return which altitudes a road can have."""
    with np.errstate(invalid="ignore"):
        return np.asarray((altitude >= _LOWEST_M) & (altitude <= _HIGHEST_M))


def _without_leaps(altitude: Floats) -> NDArray[np.bool_]:
    """Return which altitudes are not far off those around them."""
    if len(altitude) < _LEAP_WINDOW:
        return np.asarray(np.abs(altitude - np.median(altitude)) <= 10.0 * LEAP_M)
    padded = np.pad(altitude, _LEAP_WINDOW // 2, mode="edge")
    # Every eighth of the window tells its middle as well, at an eighth of the work.
    around = np.stack([padded[at : at + len(altitude)] for at in range(0, _LEAP_WINDOW, 8)])
    # What is near all of them is near their median, and nearly all altitudes are.
    near = np.asarray((altitude - around.min(axis=0) <= LEAP_M) & (around.max(axis=0) - altitude <= LEAP_M))
    rest = np.flatnonzero(~near)
    near[rest] = np.abs(altitude[rest] - np.median(around[:, rest], axis=0)) <= LEAP_M
    return near


def _smoothed(middles: Floats, altitude: Floats, known: float, usual: Floats) -> Ground:
    """Return the ground from the altitudes of the cells."""
    count, cell_m = len(middles), float(middles[1] - middles[0])
    waves = np.pi * np.arange(1, count + 1, dtype=np.float64) / (count * cell_m)
    near = min(count, max(8, round(_END_M / cell_m)))
    sides = ((slice(0, near), 0.0), (slice(count - near, None), count * cell_m))
    close = min(near, max(8, round(_FIRST_END_M / cell_m)))
    begin = np.array(altitude[:close] @ _to_start(close))
    end = np.array(altitude[-close:][::-1] @ _to_start(close))
    # The transform is linear: with those of a level and of a grade, no line that is taken away needs one of its own.
    grade = middles / (count * cell_m)
    whole, level, lean = sines(np.stack((altitude, np.ones(count), grade)))
    starts = starts_of(usual)
    # A line that misses the ends makes a jump there, which looks like noise: so twice, the second time from better ends.
    for _ in range(2):
        # Of sine coefficients with this norm, the variance is the spectral density over the cell's length.
        powers = (whole - begin * level - (end - begin) * lean) ** 2 * cell_m
        logs, covariance, starts = likeliest(waves, powers, cell_m, usual, starts)
        begin, end = (_end(logs, middles[side], altitude[side], at_m)[0] for side, at_m in sides)

    # Sigma points (Julier and Uhlmann): at sqrt(5) standard deviations of five numbers, ten of the same weight; the estimate last.
    arms = np.sqrt(len(logs)) * np.linalg.cholesky(covariance).T
    ways = np.array([*(1.0, -1.0) * len(arms), 0.0])[:, None]
    all_logs = logs + ways * np.concatenate((np.repeat(arms, 2, axis=0), arms[:1]))
    phases = np.stack([spread_evenly(number, count + 2) for number in range(len(arms))])
    moves = ways * np.concatenate((np.repeat(phases, 2, axis=0), phases[:1]))
    road, noise = densities(all_logs, waves, cell_m)
    ends = [_end(all_logs, middles[side], altitude[side], at_m) for side, at_m in sides]
    begin, end = (each[:, None] for each, _ in ends)
    seen = whole - begin * level - (end - begin) * lean
    # A wave that stands out of the noise is road, however seldom such waves are; laps bring the same ones again and again.
    share = np.maximum(road / (road + noise), 1.0 - _STANDS_OUT * noise / np.maximum(seen**2 * cell_m, noise))
    # Each but the estimate is moved by what is not known of it: one standard deviation of each wave, and of each end.
    moved = seen * share + np.sqrt(noise * share / cell_m) * moves[:, :count]
    heights = begin + (end - begin) * grade + from_sines(moved)
    for (_, sd), away, move in zip(ends, (middles, middles[::-1]), moves[:, count:].T, strict=True):
        heights += (sd * move)[:, None] * np.exp(-away / np.exp(all_logs[:, 3:4]))
    for column in (middles, heights):
        column.setflags(write=False)
    sd_m, noise_m = (
        float(np.sqrt(np.mean(each[-1]) / cell_m)) for each in (road * noise / (road + noise), noise)
    )
    return Ground(middles, heights[-1], heights[:-1], sd_m, noise_m, known)


def _to_start(count: int) -> Floats:
    """Return the weights of cells with which a least-squares parabola gives the height where they begin."""
    at = np.arange(count, dtype=np.float64) + 0.5
    return np.asarray(np.linalg.pinv(np.vander(at, 3))[2])


def _end(logs: Floats, at_m: Floats, altitude: Floats, end_m: float) -> tuple[Floats, Floats]:
    """Return the height at an end and its standard deviation: a Gaussian process through the cells near it.

    Args:
        logs: the logarithms of the five numbers, shape (5,) or (m, 5); what is returned has shape () or (m,).
        at_m: middles of the cells near the end, shape (n,).
        altitude: theirs, shape (n,).
        end_m: where the end is.
    """
    step = max(1, len(at_m) // _END_CELLS)
    many = len(at_m) // step
    first = len(at_m) - many * step if end_m > at_m[-1] else 0
    kept = slice(first, first + many * step)
    at_m, altitude = (each[kept].reshape(many, step).mean(axis=1) for each in (at_m, altitude))
    road, length, wander, slow, white = np.exp(logs.T)[..., None, None]

    def matern(away_m: Floats) -> Floats:
        away = away_m / length
        return np.asarray(road**2 * (1.0 + away + away**2 / 3.0) * np.exp(-away))

    # Nothing is taken to be known of how high the whole stretch lies, nor of its mean grade.
    level, lean = 1e4 + road**2, _GRADE_SD**2
    at_m, end_m = at_m - at_m.mean(), end_m - float(at_m.mean())
    apart = np.abs(at_m[:, None] - at_m)
    data = matern(apart) + level + lean * np.outer(at_m, at_m) + wander**2 * np.exp(-apart / slow)
    data += (white**2 / step + 1e-4) * np.eye(many)
    to_end = matern(np.abs(at_m - end_m)[:, None]) + level + lean * (at_m * end_m)[:, None]
    weights = np.linalg.solve(data, to_end)[..., 0]
    middle = float(altitude.mean())
    variance = (road**2 + level)[..., 0, 0] + lean * end_m**2 - np.sum(weights * to_end[..., 0], axis=-1)
    return middle + weights @ (altitude - middle), END_FACTOR * np.sqrt(np.maximum(variance, 1e-6))
