"""Drives of our own making on a circle of the ellipsoid, with the noise of a receiver added from a seed."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from geographiclib.geodesic import Geodesic
from numpy.typing import NDArray

from logger.model import Fix

BEGAN_NS = 1_777_800_000_000_000_000
NANO = 1_000_000_000

_CENTRE = (45.2, 13.7)
_RADIUS_M = 18_000.0
_DIRECT = Geodesic.LATITUDE | Geodesic.LONGITUDE

Speeds = Callable[[NDArray[np.float64]], NDArray[np.float64]]


@dataclass(frozen=True)
class Noise:
    """Receiver noise: slow wander (a first-order Gauss-Markov process), white noise and speed noise, per axis."""

    wander_m: float = 0.0
    wander_s: float = 30.0
    white_m: float = 0.0
    speed_mps: float | None = None
    """None: the receiver reports no speed."""


def constant(speed_mps: float) -> Speeds:
    """A drive at one speed."""
    return lambda seconds: np.full_like(seconds, speed_mps)


def stop_and_go(top_mps: float, driving_s: float, standing_s: float) -> Speeds:
    """Drive off at 2 m/s per second, up to a top speed, halt, stand, and again."""

    def speeds(seconds: NDArray[np.float64]) -> NDArray[np.float64]:
        phase = seconds % (driving_s + standing_s)
        return np.clip(np.minimum(2.0 * phase, 2.0 * (driving_s - phase)), 0.0, top_mps)

    return speeds


def drive(
    speeds: Speeds, duration_s: float, noise: Noise, *, seed: int = 1, step_s: float = 1.0
) -> tuple[list[Fix], float]:
    """Return the fixes of a drive and the distance truly driven, by integrating the speed finely."""
    rng = np.random.default_rng(seed)
    fine = np.arange(0.0, duration_s + step_s, 0.02)
    fine_speed = speeds(fine)
    fine_driven = np.concatenate(([0.0], np.cumsum((fine_speed[1:] + fine_speed[:-1]) / 2.0 * 0.02)))
    seconds = np.arange(0.0, duration_s, step_s)
    driven = np.interp(seconds, fine, fine_driven)
    east, north = (_noise(rng, len(seconds), step_s, noise) for _ in range(2))
    lap_m = _circumference_m()
    fixes = []
    reported = None
    if noise.speed_mps is not None:
        reported = np.abs(
            np.interp(seconds, fine, fine_speed) + rng.normal(0.0, noise.speed_mps, len(seconds))
        )
    for k, (second, along) in enumerate(zip(seconds.tolist(), driven.tolist(), strict=True)):
        spot = Geodesic.WGS84.Direct(*_CENTRE, 360.0 * along / lap_m, _RADIUS_M, _DIRECT)
        lat_deg = spot["lat2"] + north[k] / 111_100.0
        lon_deg = spot["lon2"] + east[k] / (111_320.0 * math.cos(math.radians(spot["lat2"])))
        speed = None if reported is None else float(reported[k])
        fixes.append(Fix(BEGAN_NS + round(second * NANO), float(lat_deg), float(lon_deg), speed_mps=speed))
    return fixes, float(driven[-1])


def _noise(rng: np.random.Generator, count: int, step_s: float, noise: Noise) -> NDArray[np.float64]:
    """One axis' noise."""
    keep = math.exp(-step_s / noise.wander_s)
    pushes = rng.normal(0.0, noise.wander_m * math.sqrt(1.0 - keep * keep), count)
    wander = np.empty(count)
    value = rng.normal(0.0, noise.wander_m)
    for k in range(count):
        value = keep * value + pushes[k]
        wander[k] = value
    return wander + rng.normal(0.0, noise.white_m, count)


def _circumference_m() -> float:
    """The length of the circle, from 720 geodesic chords of geographiclib and the arc over each."""
    spots = [Geodesic.WGS84.Direct(*_CENTRE, 0.5 * k, _RADIUS_M, _DIRECT) for k in range(721)]
    chords = sum(
        Geodesic.WGS84.Inverse(one["lat2"], one["lon2"], two["lat2"], two["lon2"], Geodesic.DISTANCE)["s12"]
        for one, two in itertools.pairwise(spots)
    )
    half_angle = math.pi / 720.0
    return float(chords * half_angle / math.sin(half_angle))
