"""The sample's road, car and receiver: all invented, from simple physics. Pure but for the seeds.

The Ostmere loop is a closed curve laid on open sea, so that it is nobody's road. The Pebble is a small car that no
one builds; its figures are ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal

import numpy as np
from geographiclib.geodesic import Geodesic
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CENTRE = (44.6, -14.5)
LENGTH_S = 1668.0
TRIP_FACTOR = 1.012
"""The trip meter counts 1.2 % too much, as a worn tyre makes it."""

_STEP_S = 0.1
_MEAN_RADIUS_M = 4500.0
_SPEED_MPS = 25.0
_WIND_MPS = 3.5
_WIND_TO_RAD = 0.6
_START_PHASE = 0.4

_MASS_KG = 1080.0
_ROLLING = 0.0105
_DRAG_AREA_M2 = 0.62
_AIR_KG_M3 = 1.21
_GRAVITY_MPS2 = 9.81
_DRIVELINE = 0.88
_REGENERATION = 0.6
_AUXILIARY_W = 420.0
_USABLE_KWH = 16.4

_CHARGE_AT_START = 34.4
_TRIP_AT_START_KM = 97.3
_ODOMETER_AT_START_KM = 12_393.2
_KM_PER_MILE = 1.609344


@dataclass(frozen=True, slots=True)
class Receiver:
    """Errors of the position receiver, per axis: slow wander (first-order Gauss-Markov) and white noise."""

    wander_m: float = 2.5
    wander_s: float = 60.0
    white_m: float = 0.35
    tunnel_s: tuple[float, float] = (742.0, 766.0)
    """No fix between these times."""
    after_tunnel_m: float = 9.0
    """How far off the first fix after the tunnel is; it comes back within some seconds."""


class Road:
    """The loop: where it is at a distance along it, how high and in which direction."""

    def __init__(self) -> None:
        angle = np.linspace(0.0, 2.0 * math.pi, 40_001)
        radius = _MEAN_RADIUS_M * (1.0 + 0.14 * np.cos(2.0 * angle) + 0.07 * np.sin(3.0 * angle))
        self._east, self._north = radius * np.cos(angle), radius * np.sin(angle)
        chords = np.hypot(np.diff(self._east), np.diff(self._north))
        self._along = np.concatenate(([0.0], np.cumsum(chords)))
        self.length_m = float(self._along[-1])

    def at(self, driven_m: Floats) -> tuple[Floats, Floats]:
        """Return metres east and north of the centre."""
        along = (driven_m + _START_PHASE * self.length_m) % self.length_m
        return np.interp(along, self._along, self._east), np.interp(along, self._along, self._north)

    def altitude_m(self, driven_m: Floats) -> Floats:
        """Return the height of the road."""
        turn = 2.0 * math.pi * driven_m / self.length_m
        height: Floats = 46.0 + 26.0 * np.sin(turn) + 7.0 * np.sin(3.0 * turn + 1.0)
        return height


@dataclass(frozen=True, slots=True)
class Dash:
    """What the dash shows at an instant, as text with the decimals shown, by (quantity, unit)."""

    shown: dict[tuple[str, str], Decimal]


class Drive:
    """The last half hour of a drive from full to nearly empty: ninety km/h, then a stop at the side of the road.

    `seconds`, `driven_m` and the like hold the truth at steps of 0.1 s, from 30 s before the sound to 20 s after it.
    """

    def __init__(self, seed: int) -> None:
        rng = np.random.default_rng((seed, 1))
        self.road = Road()
        self.seconds = np.arange(-30.0, LENGTH_S + 20.0, _STEP_S)
        self.speed_mps = self._speeds(rng)
        driven = np.cumsum(self.speed_mps) * _STEP_S
        self.driven_m = driven - np.interp(0.0, self.seconds, driven)
        self.energy_kwh = self._energy()

    def at(self, series: Floats, second: float) -> float:
        """Return a series' value at a time."""
        return float(np.interp(second, self.seconds, series))

    def place(self, second: float) -> tuple[float, float]:
        """Return the latitude and longitude where the car truly is."""
        east, north = self.road.at(np.array([self.at(self.driven_m, second)]))
        return _to_degrees(float(east[0]), float(north[0]))

    def dash(self, second: float, clock_ahead_s: float) -> Dash:
        """Return what the dash shows; `clock_ahead_s` is the sound's start as seconds of the car's day."""
        driven_km = self.at(self.driven_m, second) / 1000.0
        used_kwh = self.at(self.energy_kwh, second)
        charge = _CHARGE_AT_START - 100.0 * used_kwh / _USABLE_KWH
        trip_km = _TRIP_AT_START_KM + TRIP_FACTOR * driven_km
        trip_kwh = _USABLE_KWH * (100.0 - _CHARGE_AT_START) / 100.0 + used_kwh
        per_100km = 100.0 * trip_kwh / trip_km
        left_km = charge / 100.0 * _USABLE_KWH / per_100km * 100.0
        hours = second / 3600.0
        return Dash(
            {
                ("charge", "%"): _rounded(charge, "1"),
                ("trip", "km"): _cut(trip_km, "0.1"),
                ("trip", "mi"): _cut(trip_km / _KM_PER_MILE, "0.1"),
                ("odometer", "km"): _cut(_ODOMETER_AT_START_KM + TRIP_FACTOR * driven_km, "1"),
                ("range_left", "km"): _cut(left_km, "1"),
                ("range_left", "mi"): _cut(left_km / _KM_PER_MILE, "1"),
                ("efficiency", "kWh/100km"): _rounded(per_100km, "0.1"),
                ("energy_used", "kWh"): _cut(trip_kwh, "0.1"),
                ("outside_temperature", "degC"): _rounded(16.6 + 3.0 * hours, "1"),
                ("battery_temperature", "degC"): _rounded(27.2 + 4.0 * hours, "1"),
                ("indicated_speed", "km/h"): _rounded(1.02 * 3.6 * self.at(self.speed_mps, second) + 1, "1"),
                ("clock", "min"): Decimal(int((clock_ahead_s + second) // 60) % 1440),
            }
        )

    def fixes(self, seed: int, receiver: Receiver) -> list[tuple[float, float, float, float]]:
        """Return what the receiver reports once a second: seconds, latitude, longitude, altitude."""
        rng = np.random.default_rng((seed, 2))
        seconds = np.arange(-20.0, LENGTH_S + 15.0, 1.0)
        driven = np.interp(seconds, self.seconds, self.driven_m)
        east, north = self.road.at(driven)
        altitude = self.road.altitude_m(driven)
        east, north = (axis + _wander(rng, len(seconds), receiver) for axis in (east, north))
        altitude += 2.0 * _wander(rng, len(seconds), receiver)
        enters, leaves = receiver.tunnel_s
        late = np.where(seconds > leaves, receiver.after_tunnel_m * np.exp(-(seconds - leaves) / 4.0), 0.0)
        return [
            (second, *_to_degrees(x, y), z)
            for second, x, y, z in zip(
                seconds.tolist(), (east + late).tolist(), north.tolist(), altitude.tolist(), strict=True
            )
            if not enters < second < leaves
        ]

    def _speeds(self, rng: np.random.Generator) -> Floats:
        knots = np.arange(-40.0, LENGTH_S + 40.0, 15.0)
        held = _SPEED_MPS + np.interp(self.seconds, knots, rng.normal(0.0, 0.25, len(knots)))
        stopping: Floats = np.clip((LENGTH_S - 30.0 - self.seconds) * 1.2, 0.0, held)
        return stopping

    def _energy(self) -> Floats:
        """Energy drawn since the sound's start: rolling, drag against the wind along the road, climb and the car's own."""
        speed = self.speed_mps
        east, north = self.road.at(self.driven_m)
        heading = np.arctan2(np.gradient(north), np.gradient(east))
        along = _WIND_MPS * np.cos(heading - _WIND_TO_RAD)
        climb = np.gradient(self.road.altitude_m(self.driven_m)) / _STEP_S
        air = speed - np.where(speed > 0.0, along, 0.0)
        drag = 0.5 * _AIR_KG_M3 * _DRAG_AREA_M2 * air * np.abs(air) * speed
        braking = _MASS_KG * speed * np.gradient(speed) / _STEP_S
        wheels = _MASS_KG * _GRAVITY_MPS2 * (_ROLLING * speed + climb) + drag + braking
        watts = np.where(wheels > 0.0, wheels / _DRIVELINE, wheels * _REGENERATION) + _AUXILIARY_W
        drawn = np.cumsum(watts) * _STEP_S / 3.6e6
        since: Floats = drawn - np.interp(0.0, self.seconds, drawn)
        return since


def _wander(rng: np.random.Generator, count: int, receiver: Receiver) -> Floats:
    keep = math.exp(-1.0 / receiver.wander_s)
    pushes = rng.normal(0.0, receiver.wander_m * math.sqrt(1.0 - keep * keep), count)
    wander = np.empty(count)
    value = rng.normal(0.0, receiver.wander_m)
    for k in range(count):
        value = keep * value + pushes[k]
        wander[k] = value
    return wander + rng.normal(0.0, receiver.white_m, count)


def _to_degrees(east_m: float, north_m: float) -> tuple[float, float]:
    azimuth = math.degrees(math.atan2(east_m, north_m))
    spot = Geodesic.WGS84.Direct(*CENTRE, azimuth, math.hypot(east_m, north_m))
    return float(spot["lat2"]), float(spot["lon2"])


def _cut(value: float, step: str) -> Decimal:
    return Decimal(value).quantize(Decimal(step), ROUND_FLOOR)


def _rounded(value: float, step: str) -> Decimal:
    return Decimal(value).quantize(Decimal(step), ROUND_HALF_UP)
