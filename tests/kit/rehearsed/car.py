"""An invented electric car driven round a loop at one GPS speed, from full towards empty: its physics over time.

Every number follows from a seed. The loop is a circle driven in laps, so wind that helps on one side hinders on the
other. The course is computed on a grid of `STEP_S` and read between its points.
"""

from __future__ import annotations

import functools
import math
import random
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEP_S = 5.0
GRAVITY_MPS2 = 9.81
TURNING_MASS = 1.03
"""A car's mass with its turning wheels, as a share of it."""
_LONGEST_S = 6.5 * 3600.0
_DURATION_S = (3.5 * 3600.0, 5.0 * 3600.0)
_PULL_AWAY_S = 20.0
_GAS_CONSTANT = 287.05
_SCALE_HEIGHT_M = 8400.0
_LAPSE_K_PER_M = 0.0065


@dataclass(frozen=True, slots=True)
class Car:
    """What of a car its use of energy follows from.

    Attributes:
        usable_kwh: energy from 100 % shown to 0 %.
        bow: how far the charge shown bends from the energy left, as a share; 0 is straight.
    """

    usable_kwh: float
    mass_kg: float
    drag_area_m2: float
    rolling: float
    drive_efficiency: float
    recovery_efficiency: float
    auxiliary_w: float
    bow: float


@dataclass(frozen=True, slots=True)
class Hill:
    """One sinusoid of the loop's height: so many periods a lap."""

    periods: int
    height_m: float
    phase_rad: float


@dataclass(frozen=True, slots=True)
class Conditions:
    """Where and in what weather a drive goes.

    Attributes:
        standing_s: how long the car stands before it sets off.
        wind_towards_rad: where the wind blows to, clockwise from north; the car sets off to the east.
        warming_k: how much warmer it is at the drive's end.
    """

    speed_mps: float
    standing_s: float
    lap_m: float
    altitude_m: float
    hills: tuple[Hill, ...]
    wind_mps: float
    wind_towards_rad: float
    outside_c: float
    warming_k: float
    start_charge: float
    end_charge: float
    phase_rad: float


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """The way of a drive and what meets the car on it, at times STEP_S apart; arrays of shape (n,).

    `height_m` is above the loop's altitude, `heading_rad` clockwise from north, `headwind_mps` below 0 from behind.
    """

    seconds: Floats
    speed_mps: Floats
    distance_m: Floats
    height_m: Floats
    grade: Floats
    heading_rad: Floats
    outside_c: Floats
    headwind_mps: Floats
    air_kg_m3: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Outing:
    """A drive's course on a grid of time.

    Arrays have shape (n,), from the drive clock's 0 to `ends_s`. `charge` is what the car takes for its charge, 0 to 1,
    before the dash rounds it. `used_kwh` counts from the start.
    """

    seed: int
    car: Car
    conditions: Conditions
    seconds: Floats
    speed_mps: Floats
    distance_m: Floats
    used_kwh: Floats
    charge: Floats
    outside_c: Floats
    battery_c: Floats

    @property
    def ends_s(self) -> float:
        """When the drive is over."""
        return float(self.seconds[-1])

    def at(self, column: Floats, at_s: float) -> float:
        """Return a column's value at a time."""
        return float(np.interp(at_s, self.seconds, column))

    def when_driven(self, distance_m: float) -> float:
        """Return when so much was driven."""
        return float(np.interp(distance_m, self.distance_m, self.seconds))


def air_kg_m3(celsius: Floats | float, altitude_m: Floats | float) -> Floats | float:
    """Return the density of dry air: the gas law, with pressure falling by e each 8.4 km."""
    return (
        101_325.0 * np.exp(-np.asarray(altitude_m) / _SCALE_HEIGHT_M) / (_GAS_CONSTANT * (celsius + 273.15))
    )


def road_load_n(
    car: Car,
    speed_mps: Floats | float,
    headwind_mps: Floats | float,
    grade: Floats | float,
    air: Floats | float,
) -> Floats | float:
    """Return the force that holds the car back at a steady speed: air, tyres and climb."""
    through_air = speed_mps + headwind_mps
    drag = 0.5 * air * car.drag_area_m2 * through_air * np.abs(through_air)
    return drag + car.mass_kg * GRAVITY_MPS2 * (car.rolling + grade)


def battery_w(car: Car, force_n: Floats, speed_mps: Floats) -> Floats:
    """Return the power drawn from the battery; below zero while it is filled on a descent."""
    wheels = force_n * speed_mps
    return (
        np.where(wheels > 0, wheels / car.drive_efficiency, wheels * car.recovery_efficiency)
        + car.auxiliary_w
    )


@functools.lru_cache(maxsize=256)
def outing_of(seed: int, past_zero: float | None = None) -> Outing:
    """Return the drive of a seed: 3.5 to 5 hours, its charge never rising.

    With `past_zero` it is not ended at a few percent, but driven on until the charge is that share below 0.
    """
    rng = random.Random(f"rehearsed outing {seed}")
    while True:
        outing = _driven(seed, *drawn_of(rng), past_zero)
        if outing is not None:
            return outing


def drawn_of(rng: random.Random) -> tuple[Car, Conditions]:
    """Return a car, and where and in what weather it drives."""
    usable_kwh = rng.uniform(35.0, 90.0)
    outside_c = rng.uniform(-6.0, 27.0)
    car = Car(
        usable_kwh=usable_kwh,
        mass_kg=900.0 + 12.0 * usable_kwh + rng.uniform(-100.0, 250.0),
        drag_area_m2=rng.uniform(0.46, 0.80),
        rolling=rng.uniform(0.0075, 0.012),
        drive_efficiency=rng.uniform(0.86, 0.92),
        recovery_efficiency=rng.uniform(0.6, 0.8),
        auxiliary_w=rng.uniform(250.0, 500.0) + 30.0 * abs(outside_c - 20.0) * rng.uniform(0.3, 1.0),
        bow=rng.uniform(-0.03, 0.03),
    )
    lap_m = rng.uniform(90_000.0, 220_000.0)
    # Steep in the sum of its sinusoids, not in each: no more than about 1.2 %.
    hills = tuple(
        Hill(
            periods,
            rng.uniform(0.1, 0.4) * 0.012 * lap_m / (2 * math.pi * periods),
            rng.uniform(0, 2 * math.pi),
        )
        for periods in (1, 3, 8)
    )
    return car, Conditions(
        speed_mps=rng.uniform(90.0, 120.0) / 3.6,
        standing_s=rng.uniform(40.0, 120.0),
        lap_m=lap_m,
        altitude_m=rng.uniform(100.0, 900.0),
        hills=hills,
        wind_mps=rng.uniform(0.0, 7.0),
        wind_towards_rad=rng.uniform(0.0, 2 * math.pi),
        outside_c=outside_c,
        warming_k=rng.uniform(0.0, 9.0),
        start_charge=1.0 if rng.random() < 0.7 else rng.uniform(0.93, 1.0),
        end_charge=rng.uniform(0.02, 0.07),
        phase_rad=rng.uniform(0.0, 2 * math.pi),
    )


def _driven(seed: int, car: Car, here: Conditions, past_zero: float | None) -> Outing | None:
    """Return the drive, or None when it does not last as long as drives here do or the battery fills on the way."""
    course = course_of(here, np.arange(0.0, _LONGEST_S, STEP_S))
    drawn = drawn_w(car, course)
    if drawn.min() <= 0.0:
        return None
    seconds, speed, distance, outside = course.seconds, course.speed_mps, course.distance_m, course.outside_c
    used_kwh = _summed(drawn) * STEP_S / 3.6e6
    left = here.start_charge - used_kwh / car.usable_kwh
    end = int(np.searchsorted(-left, -here.end_charge))
    if end >= len(seconds) or not _DURATION_S[0] <= seconds[end] <= _DURATION_S[1]:
        return None
    if past_zero is not None:
        end = min(len(seconds) - 1, int(np.searchsorted(-left, past_zero)))
    settled_c = float(outside[:end].mean()) + 10.0
    battery_c = settled_c + (here.outside_c + 3.0 - settled_c) * np.exp(-seconds / 5000.0)
    kept = slice(0, end + 1)
    charge = left + car.bow * left * (1.0 - left)
    columns = (seconds, speed, distance, used_kwh, charge, outside, battery_c)
    return Outing(seed, car, here, *(column[kept] for column in columns))


def course_of(here: Conditions, seconds: Floats) -> Course:
    """Return a drive's way, and the wind and air on it, at times STEP_S apart."""
    under_way = seconds - here.standing_s
    # A cruise control holds the speed to some 0.2 m/s.
    held = here.speed_mps + 0.2 * np.sin(2 * math.pi * seconds / 97.0 + here.phase_rad)
    speed = held * np.clip(under_way / _PULL_AWAY_S, 0.0, 1.0)
    distance = _summed(speed) * STEP_S
    angle = 2 * math.pi * distance / here.lap_m
    height = sum(
        (hill.height_m * np.sin(hill.periods * angle + hill.phase_rad) for hill in here.hills), 0.0 * angle
    )
    grade = sum(
        (
            hill.height_m
            * hill.periods
            * 2
            * math.pi
            / here.lap_m
            * np.cos(hill.periods * angle + hill.phase_rad)
            for hill in here.hills
        ),
        0.0 * angle,
    )
    warmed = here.warming_k * np.sin(0.5 * math.pi * np.minimum(1.0, seconds / (4.5 * 3600.0)))
    wiggle = 0.4 * np.sin(2 * math.pi * seconds / 2500.0 + here.phase_rad)
    outside = here.outside_c + warmed + wiggle - _LAPSE_K_PER_M * height
    gusts = 1.0 + 0.25 * np.sin(2 * math.pi * seconds / 5400.0 + 2 * here.phase_rad)
    heading = angle + 0.5 * math.pi
    headwind = -here.wind_mps * gusts * np.cos(heading - here.wind_towards_rad)
    air = air_kg_m3(outside, here.altitude_m + height)
    return Course(seconds, speed, distance, height, grade, heading, outside, headwind, np.asarray(air))


def drawn_w(car: Car, course: Course, *, inertia: bool = False) -> Floats:
    """Return the power drawn from the battery at each time; with `inertia`, also what speeding up takes and slowing gives."""
    speed = course.speed_mps
    force = np.asarray(road_load_n(car, speed, course.headwind_mps, course.grade, course.air_kg_m3))
    if inertia:
        force = force + TURNING_MASS * car.mass_kg * np.gradient(speed, course.seconds)
    return battery_w(car, force, speed)


def _summed(rate: Floats) -> Floats:
    """Return the running sum of a rate by trapezoids, in steps, from 0."""
    return np.concatenate(([0.0], np.cumsum((rate[1:] + rate[:-1]) / 2.0)))
