"""Drives whose road, wind and air are known, seen as a driver tells them: what conditions truly cost, beside what a sheet says.

The car and its physics are those of `rehearsed.car`; here the sheet's numbers are off by as much as the results claim, the wind
wanders, the receiver tells altitudes with noise, and the same car is driven without wind, on a level road and in reference air.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType

import numpy as np

from logger.core.results.air import PRESSURE_SD_PA, READ_SD_K, REFERENCE_KG_M3, TOLD_SD_K, WEATHER_SD_PA
from logger.core.results.blowing import DIRECTION_SD_RAD, LEAST_SD_MPS, SPEED_SD, WANDER_S, WANDER_SD
from logger.core.results.car_load import ANY_CAR, ASSUMED_SD, CLASS_NUMBERS, TOLD_SD
from logger.core.results.observed import Observed, Reading
from logger.core.track import Track
from logger.core.way import Way
from logger.model import Drive
from rehearsed.car import (
    STEP_S,
    Car,
    Conditions,
    Course,
    Floats,
    Hill,
    battery_w,
    course_of,
    drawn_of,
    drawn_w,
    road_load_n,
)
from rehearsed.departures import departure_of
from rehearsed.tracks import fixes_along

FIX_S = 2.0
CHORDS = 180
_ROADS = ("level", "gentle", "hilly", "hilly", "steep", "steep")
_STEEPER = {"level": 0.0, "gentle": 1.0, "hilly": 2.5, "steep": 5.0}
_SMALL_PERIODS = 30


@dataclass(frozen=True, slots=True)
class Kind:
    """What sort of drive: the default is what the intervals claim.

    Attributes:
        by_class: the sheet tells the car's class and nothing else of it.
        gusty: the wind swells and drops every hour and a half, the same all over the road, instead of wandering.
        calm: there is no wind, and the sheet says so.
    """

    by_class: bool = False
    gusty: bool = False
    calm: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Weathered:
    """A drive as it was told, and what is true of it.

    Attributes:
        seen: what results start from.
        truth: Wh/km by name: `drawn`, `wind`, `climb`, `air`, `speed` (what each cost) and `reference`; also `headwind` in m/s and
            `density` in kg/m3, means over the way.
        range_km: how far the car's usable energy takes it.
        course: what the drive was.
        altitude_m: of the road, at each time of the course.
    """

    seen: Observed
    truth: Mapping[str, float]
    range_km: float
    course: Course
    altitude_m: Floats


def weathered(seed: int, kind: Kind = Kind()) -> Weathered:
    """Return the drive of a seed."""
    draw = random.Random(f"weathered {seed}")
    rng = np.random.default_rng((seed, 81))
    car, here = drawn_of(draw)
    if kind.by_class:
        car = _of_class(car, rng)
    here = replace(here, hills=_hills(here, draw), wind_mps=0.0 if kind.calm else here.wind_mps)
    course = course_of(here, np.arange(0.0, draw.uniform(1.2, 4.0) * 3600.0, STEP_S))
    towards = here.wind_towards_rad
    if not kind.gusty and not kind.calm:
        course = replace(course, headwind_mps=_wandering(course, here, rng))
    sea_pa = 101_325.0 + WEATHER_SD_PA * rng.normal()
    damp = float(np.clip(50.0 + 25.0 * rng.normal(), 0.0, 100.0))
    course = replace(course, air_kg_m3=course.air_kg_m3 * _moist(course, sea_pa, damp))
    target_mps = float(round(3.6 * here.speed_mps)) / 3.6
    truth = _truth(car, course, target_mps)
    usable = car.usable_kwh
    test: dict[str, str | int | float | bool] = {
        "usable_kwh": usable,
        "target_gps_speed_kmh": 3.6 * target_mps,
    }
    test |= {"class": "medium"} if kind.by_class else _told_car(car, rng)
    test |= {"wind_mps": 0.0} if kind.calm else _told_wind(here.wind_mps, towards, rng)
    altitude = here.altitude_m + course.height_m
    if draw.random() < 0.5:
        start_pa = sea_pa * math.exp(-float(altitude[0]) / 8_400.0)
        test["pressure_hPa"] = (start_pa + PRESSURE_SD_PA * rng.normal()) / 100.0
        test["humidity_pct"] = damp
    readings: dict[str, tuple[Reading, ...]] = {}
    if draw.random() < 0.5:
        readings["outside_temperature"] = _temperatures(course, rng)
    else:
        test["temperature_degC"] = float(course.outside_c.mean()) + TOLD_SD_K * rng.normal()
    seen = Observed(
        drive=Drive(departure_of(seed).began_utc_ns, ""),
        readings=MappingProxyType(readings),
        notes=(),
        doubts=(),
        track=_track(seed, here, course, altitude, rng),
        test=MappingProxyType(test),
        way=Way(here.lap_m, 10.0),
        distances="km",
    )
    return Weathered(seen, truth, 1000.0 * usable / truth["drawn"], course, altitude)


def _hills(here: Conditions, draw: random.Random) -> tuple[Hill, ...]:
    """Return the road's hills: none, or those of `rehearsed.car` steeper and with short ones among them."""
    steeper = _STEEPER[draw.choice(_ROADS)]
    if not steeper:
        return ()
    short = Hill(
        _SMALL_PERIODS,
        steeper * draw.uniform(0.02, 0.1) * 0.012 * here.lap_m / (2 * math.pi * _SMALL_PERIODS),
        draw.uniform(0, 6.0),
    )
    return (*(replace(hill, height_m=steeper * hill.height_m / 1.2) for hill in here.hills), short)


def _of_class(car: Car, rng: np.random.Generator) -> Car:
    """Return the car with numbers about those of its class, as far off as is claimed."""

    def about(name: str) -> float:
        middle = {**CLASS_NUMBERS["medium"], **ANY_CAR}[name]
        return float(middle * max(0.2, 1.0 + ASSUMED_SD[name] * rng.normal()))

    return replace(
        car,
        mass_kg=about("mass"),
        drag_area_m2=about("drag_area"),
        rolling=about("rolling_resistance"),
        drive_efficiency=min(0.98, about("drive_efficiency")),
        recovery_efficiency=min(0.95, about("recovery_efficiency")),
        auxiliary_w=about("auxiliary"),
    )


def _told_car(car: Car, rng: np.random.Generator) -> dict[str, float]:
    """Return the car's numbers as a sheet tells them, each as far off as is claimed."""
    told = {
        "mass_kg": (car.mass_kg, "mass"),
        "drag_area_m2": (car.drag_area_m2, "drag_area"),
        "rolling_resistance": (car.rolling, "rolling_resistance"),
        "drive_efficiency": (car.drive_efficiency, "drive_efficiency"),
        "recovery_efficiency": (car.recovery_efficiency, "recovery_efficiency"),
        "auxiliary_w": (car.auxiliary_w, "auxiliary"),
    }
    numbers = {
        key: value * (1.0 + TOLD_SD[name] * float(rng.normal())) for key, (value, name) in told.items()
    }
    numbers["drive_efficiency"] = min(1.0, numbers["drive_efficiency"])
    return numbers


def _told_wind(mps: float, towards: float, rng: np.random.Generator) -> dict[str, float]:
    """Return the wind as it is noted: its mean off along and across."""
    along = mps + math.hypot(LEAST_SD_MPS, SPEED_SD * mps) * float(rng.normal())
    across = math.hypot(LEAST_SD_MPS, DIRECTION_SD_RAD * mps) * float(rng.normal())
    noted = towards + math.atan2(across, along)
    return {"wind_mps": math.hypot(along, across), "wind_from_deg": math.degrees(noted + math.pi) % 360.0}


def _wandering(course: Course, here: Conditions, rng: np.random.Generator) -> Floats:
    """Return the headwind of a wind that wanders slowly about its mean, along and across."""
    along, across = (
        WANDER_SD * here.wind_mps * _markov(rng, len(course.seconds), STEP_S / WANDER_S) for _ in range(2)
    )
    off = course.heading_rad - here.wind_towards_rad
    return np.asarray(-((here.wind_mps + along) * np.cos(off) + across * np.sin(off)))


def _markov(rng: np.random.Generator, count: int, step: float) -> Floats:
    """Return a first-order Gauss-Markov process of variance 1, `step` of its time apart."""
    keep = math.exp(-step)
    pushes = (math.sqrt(1.0 - keep * keep) * rng.normal(size=count)).tolist()
    value = float(rng.normal())
    walk = []
    for push in pushes:
        value = keep * value + push
        walk.append(value)
    return np.array(walk)


def _moist(course: Course, sea_pa: float, damp: float) -> Floats:
    """Return the density beside that of `rehearsed.car`, which is dry and of 1013.25 hPa at the sea (Buck's vapour pressure)."""
    celsius = course.outside_c
    vapour = damp / 100.0 * 611.21 * np.exp((18.678 - celsius / 234.5) * celsius / (257.14 + celsius))
    pressure = course.air_kg_m3 * 287.05 * (celsius + 273.15) * sea_pa / 101_325.0
    return np.asarray(sea_pa / 101_325.0 * (1.0 - 0.378 * vapour / pressure))


def _temperatures(course: Course, rng: np.random.Generator) -> tuple[Reading, ...]:
    off = READ_SD_K * float(rng.normal())
    readings = []
    for at_s in np.arange(120.0, float(course.seconds[-1]), 400.0).tolist():
        shown = round(float(np.interp(at_s, course.seconds, course.outside_c)) + off)
        readings.append(Reading(f"{at_s}-1", at_s, float(shown), 1.0, None, Decimal(shown), "degC"))
    return tuple(readings)


def _track(seed: int, here: Conditions, course: Course, altitude: Floats, rng: np.random.Generator) -> Track:
    seconds = np.arange(0.0, float(course.seconds[-1]), FIX_S)
    driven, speed, height = (
        np.interp(seconds, course.seconds, each) for each in (course.distance_m, course.speed_mps, altitude)
    )
    wander = rng.uniform(1.5, 5.0) * _markov(rng, len(seconds), FIX_S / rng.uniform(30.0, 90.0))
    reported = height + wander + rng.uniform(0.2, 1.0) * rng.normal(size=len(seconds))
    return Track.from_fixes(
        fixes_along(seed, here.lap_m, seconds, driven, speed, altitude_m=reported, chords=CHORDS)
    )[0]


def _truth(car: Car, course: Course, target_mps: float) -> dict[str, float]:
    """Return what the car drew, and what each thing cost of it."""
    level = np.zeros(len(course.seconds))
    air = np.full(len(level), REFERENCE_KG_M3)
    drawn = _wh_per_km(car, course)
    moving = course.speed_mps > 0.5
    mean_mps = float(course.distance_m[-1]) / (STEP_S * np.count_nonzero(moving))
    way = np.gradient(course.distance_m)
    calm = replace(course, headwind_mps=level, grade=level, air_kg_m3=air)
    return {
        "drawn": drawn,
        "wind": drawn - _wh_per_km(car, replace(course, headwind_mps=level)),
        "climb": drawn - _wh_per_km(car, replace(course, grade=level)),
        "air": drawn - _wh_per_km(car, replace(course, air_kg_m3=air)),
        "speed": drawn - _evenly(car, course, mean_mps),
        "reference": _evenly(car, calm, target_mps),
        "headwind": float(np.average(course.headwind_mps, weights=way)),
        "density": float(np.average(course.air_kg_m3, weights=way)),
    }


def _wh_per_km(car: Car, course: Course) -> float:
    watts = drawn_w(car, course, inertia=True)
    joules = float(np.sum(watts[1:] + watts[:-1])) / 2.0 * STEP_S
    return joules / 3.6 / float(course.distance_m[-1])


def _evenly(car: Car, course: Course, mps: float) -> float:
    """Return what the same way takes at one speed."""
    way = np.gradient(course.distance_m)
    force = road_load_n(car, mps, course.headwind_mps, course.grade, course.air_kg_m3)
    watts = battery_w(car, np.asarray(force), np.full(len(way), mps))
    return float(np.average(watts, weights=way)) / mps / 3.6
