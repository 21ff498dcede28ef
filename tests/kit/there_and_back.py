"""Invented cars driven out on one road, turned round when the advice says so, and driven back: what is left at the start.

Car and weather are those of `rehearsed.car`, on a straight road with hills, in a steady wind along it. Every number follows from a seed.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import numpy as np
from rehearsed.car import Car, air_kg_m3, battery_w, road_load_n

from logger.core.charge_left import ChargeAt, charge_left
from logger.core.turning import Turn, advice_on
from logger.core.way import Way
from logger.core.way_back import Standing

STEP_M = 250.0
_ROAD_M = 600_000.0
_CALL_M = (2_000.0, 9_000.0)
_SEEN_LATE_M = 300.0
"""How far a car goes until advice comes: two looks."""


@dataclass(frozen=True)
class Trip:
    """A trip: the wind from ahead on the way back, how far out it turned, and the charge at the start, in percent."""

    back_wind_mps: float
    speed_mps: float
    turned_m: float
    left_percent: float


def trip(seed: int, way: Way, back_wind_mps: float | None = None) -> Trip:
    """Drive out until told to turn round, and back; the charge at the end may be below 0, where a car would have stopped."""
    rng = random.Random(f"there and back {seed}")
    usable_kwh = rng.uniform(35.0, 90.0)
    outside_c = rng.uniform(-6.0, 27.0)
    car = Car(
        usable_kwh=usable_kwh,
        mass_kg=900.0 + 12.0 * usable_kwh,
        drag_area_m2=rng.uniform(0.46, 0.80),
        rolling=rng.uniform(0.0075, 0.012),
        drive_efficiency=rng.uniform(0.86, 0.92),
        recovery_efficiency=rng.uniform(0.6, 0.8),
        auxiliary_w=rng.uniform(250.0, 1000.0),
        bow=rng.uniform(-0.03, 0.03),
    )
    speed_mps = rng.uniform(80.0, 120.0) / 3.6
    wind_mps = rng.uniform(-7.0, 7.0) if back_wind_mps is None else back_wind_mps
    rounds, phase_rad = rng.random() < 0.5, rng.uniform(0.0, 2 * math.pi)
    at_m = np.arange(0.0, _ROAD_M, STEP_M)
    waves = [(rng.uniform(10_000.0, 80_000.0), rng.uniform(0.1, 0.35) * 0.012) for _ in range(3)]
    grade = sum(
        (steep * np.cos(2 * math.pi * at_m / length + phase_rad) for length, steep in waves), 0.0 * at_m
    )
    air = air_kg_m3(outside_c, 200.0)
    speed = np.full_like(at_m, speed_mps)
    points = {
        way_sign: np.asarray(
            battery_w(
                car, np.asarray(road_load_n(car, speed, way_sign * wind_mps, -way_sign * grade, air)), speed
            )
        )
        * (STEP_M / speed_mps / 3.6e6 / usable_kwh * 100.0)
        for way_sign in (-1.0, 1.0)
    }
    used_out = np.concatenate(([0.0], np.cumsum(points[-1.0])))

    def shown(used: float) -> float:
        left = 1.0 - used / 100.0
        return math.floor(100.0 * (left + car.bow * left * (1.0 - left)) + (0.5 if rounds else 0.0))

    first, next_call_m = ChargeAt(shown(0.0), 0.0), rng.uniform(*_CALL_M)
    newest = first
    for step in range(1, len(at_m)):
        here_m = step * STEP_M
        if here_m >= next_call_m:
            newest, next_call_m = (
                ChargeAt(shown(float(used_out[step])), here_m),
                here_m + rng.uniform(*_CALL_M),
            )
        left = charge_left(first, newest, here_m)
        if left is None:
            continue
        if advice_on(left, Standing(None, here_m), way).turn is not Turn.GO_ON:
            turned = step + math.ceil(_SEEN_LATE_M / STEP_M)
            used = used_out[turned] + np.sum(points[1.0][:turned])
            true = 1.0 - float(used) / 100.0
            return Trip(wind_mps, speed_mps, turned * STEP_M, 100.0 * (true + car.bow * true * (1.0 - true)))
    raise AssertionError("the road is too short")
