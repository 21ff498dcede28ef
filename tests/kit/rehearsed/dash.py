"""What an invented car's dash shows at an instant, rounded as it shows it."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from speechkit.calls import System

from rehearsed.car import Floats, Outing
from rehearsed.departures import Departure, departure_of
from rehearsed.twists import NO_TWIST, Twist

METRES = {"mi": 1609.344, "km": 1000.0}
_DISTANCE_UNIT: dict[System, str] = {"miles": "mi", "metric": "km"}
OTHER: dict[System, System] = {"miles": "metric", "metric": "miles"}

EFFICIENCY_FROM_M = 3000.0
"""Before this no dash's average is worth reading."""


class Shown(NamedTuple):
    """A value as the dash shows it, and its unit."""

    value: Decimal
    unit: str


@dataclass(frozen=True, slots=True)
class DashKind:
    """How one car's dash counts, predicts and rounds.

    Attributes:
        rounds_charge: to the nearest percent, else down.
        trip_scale: what it counts for a true metre.
        window_m: how far back the consumption reaches that it predicts the range from.
        rated_share: how much of that prediction is the rated consumption instead.
        rated_ratio: the rated consumption, as a share of the drive's own.
        reads_high: what the speedometer adds, as a share.
    """

    rounds_charge: bool
    trip_scale: float
    odometer_start_m: float
    window_m: float
    rated_share: float
    rated_ratio: float
    metric_efficiency: str
    efficiency_places: int
    half_degrees: bool
    reads_high: float


def dash_kind(seed: int) -> DashKind:
    """Return the dash of a seed's car."""
    rng = random.Random(f"rehearsed dash {seed}")
    optimistic = rng.random() < 0.4
    return DashKind(
        rounds_charge=rng.random() < 0.5,
        trip_scale=rng.uniform(0.98, 1.03),
        odometer_start_m=1000.0 * math.exp(rng.uniform(math.log(900.0), math.log(240_000.0))),
        window_m=1000.0 * rng.uniform(20.0, 60.0),
        rated_share=rng.uniform(0.4, 0.9) if optimistic else rng.uniform(0.0, 0.15),
        rated_ratio=rng.uniform(0.78, 0.95),
        metric_efficiency="kWh/100km" if rng.random() < 0.7 else "km/kWh",
        efficiency_places=2 if rng.random() < 0.2 else 1,
        half_degrees=rng.random() < 0.3,
        reads_high=rng.uniform(0.0, 0.04),
    )


class Dash:
    """The dash of a drive.

    Args:
        outing: the drive's course.
        system: the units it shows.
        twist: what happens in the drive besides driving.
        odometer_start_m: an odometer to begin with instead of the car's own.
    """

    def __init__(
        self, outing: Outing, system: System, twist: Twist = NO_TWIST, odometer_start_m: float | None = None
    ) -> None:
        self._outing, self._system, self._twist = outing, system, twist
        self.kind = dash_kind(outing.seed)
        start = self.kind.odometer_start_m if odometer_start_m is None else odometer_start_m
        self.odometer_start_m = start
        self._departure: Departure = departure_of(outing.seed)
        self._rated_kwh_per_m = (
            self.kind.rated_ratio * float(outing.used_kwh[-1]) / float(outing.distance_m[-1])
        )

    def shows(self, quantity: str, at_s: float) -> Shown | None:
        """Return what it shows of a quantity at a time on the drive clock; None where there is nothing to read."""
        twist = self._twist
        system = OTHER[self._system] if twist.switched(at_s) else self._system
        driving_s = twist.driving_s(at_s)
        match quantity:
            case "charge":
                return Shown(Decimal(self.charge_percent(at_s)), "%")
            case "trip" | "odometer" | "range_left":
                return self._distance(quantity, at_s, _DISTANCE_UNIT[system])
            case "efficiency":
                return self._efficiency(at_s, system)
            case "energy_used":
                return Shown(_near(self._outing.at(self._outing.used_kwh, driving_s), 1), "kWh")
            case "outside_temperature":
                celsius = self._outing.at(self._outing.outside_c, driving_s) + twist.warmer_k(at_s)
                return self._degrees(celsius, system)
            case "battery_temperature":
                celsius = self._outing.at(self._outing.battery_c, driving_s)
                return Shown(_near(_in_degrees(celsius, system), 0), _degree_unit(system))
            case "indicated_speed":
                return self._speed(driving_s, system)
            case "clock":
                return Shown(Decimal(self._departure.minute_at(at_s)), "min")
        raise ValueError(f"no dash here shows {quantity}")

    def _distance(self, quantity: str, at_s: float, unit: str) -> Shown:
        if quantity == "trip":
            return Shown(_down(self._trip_m(at_s) / METRES[unit], 1), unit)
        if quantity == "odometer":
            return Shown(_down((self.odometer_start_m + self.counted_m(at_s)) / METRES[unit], 0), unit)
        return Shown(_down(self._range_m(at_s) / METRES[unit], 0), unit)

    def counted_m(self, at_s: float) -> float:
        """Return the metres it has counted since the drive began."""
        return self.kind.trip_scale * self._outing.at(self._outing.distance_m, self._twist.driving_s(at_s))

    def charge_percent(self, at_s: float) -> int:
        """Return the charge it shows."""
        return int(self._whole_percents(np.array([self._charge(at_s)]))[0])

    def charge_percents(self, driving_s: Floats) -> NDArray[np.int64]:
        """Return the charge it shows at times of driving, without a pause's; shape (n,)."""
        charge = np.interp(driving_s, self._outing.seconds, self._outing.charge)
        if self._twist.gain is not None:
            clock_s = [self._twist.clock_s(each) for each in driving_s.tolist()]
            charge += np.array([self._twist.added_charge(each) for each in clock_s])
        return self._whole_percents(charge)

    def _whole_percents(self, charge: Floats) -> NDArray[np.int64]:
        # A share that is a whole percent but for rounding must not show the one below.
        shown = np.floor(100.0 * charge + (0.5 if self.kind.rounds_charge else 1e-9))
        return np.asarray(np.clip(shown, 0, 100), dtype=np.int64)

    def _trip_m(self, at_s: float) -> float:
        return self.counted_m(at_s) - self.kind.trip_scale * self._twist.trip_from_m(at_s)

    def _charge(self, at_s: float) -> float:
        driven = self._outing.at(self._outing.charge, self._twist.driving_s(at_s))
        return driven + self._twist.added_charge(at_s)

    def _range_m(self, at_s: float) -> float:
        """Return the range it predicts, in metres as it counts them."""
        outing = self._outing
        here_m = outing.at(outing.distance_m, self._twist.driving_s(at_s))
        back_m = here_m - self.kind.window_m
        used = outing.at(outing.used_kwh, self._twist.driving_s(at_s))
        # Before the drive it was driven as it is rated.
        if back_m < 0.0:
            recent = (used - self._rated_kwh_per_m * back_m) / self.kind.window_m
        else:
            recent = (used - float(outing.used_kwh[_index_driven(outing, back_m)])) / self.kind.window_m
        expected = self.kind.rated_share * self._rated_kwh_per_m + (1.0 - self.kind.rated_share) * recent
        return max(0.0, self._charge(at_s)) * outing.car.usable_kwh / expected * self.kind.trip_scale

    def _efficiency(self, at_s: float, system: System) -> Shown | None:
        """Return the average since the trip was reset."""
        outing = self._outing
        counted_m = self._trip_m(at_s)
        if counted_m < EFFICIENCY_FROM_M:
            return None
        reset_kwh = outing.at(outing.used_kwh, outing.when_driven(self._twist.trip_from_m(at_s)))
        used = outing.at(outing.used_kwh, self._twist.driving_s(at_s)) - reset_kwh
        if system == "miles":
            return Shown(_near(counted_m / METRES["mi"] / used, self.kind.efficiency_places), "mi/kWh")
        if self.kind.metric_efficiency == "km/kWh":
            return Shown(_near(counted_m / METRES["km"] / used, self.kind.efficiency_places), "km/kWh")
        return Shown(_near(100.0 * used / (counted_m / METRES["km"]), 1), "kWh/100km")

    def _degrees(self, celsius: float, system: System) -> Shown:
        shown = _in_degrees(celsius, system)
        if self.kind.half_degrees and system == "metric":
            halves = math.floor(2.0 * shown + 0.5)
            whole = halves % 2 == 0
            value = Decimal(halves // 2) if whole else Decimal(halves) * Decimal("0.5")
            return Shown(value, _degree_unit(system))
        return Shown(_near(shown, 0), _degree_unit(system))

    def _speed(self, driving_s: float, system: System) -> Shown | None:
        true_mps = self._outing.at(self._outing.speed_mps, driving_s)
        if true_mps < 10.0:
            return None
        unit = {"miles": "mph", "metric": "km/h"}[system]
        metres = METRES[_DISTANCE_UNIT[system]]
        return Shown(_near(true_mps * (1.0 + self.kind.reads_high) * 3600.0 / metres, 0), unit)


def _index_driven(outing: Outing, distance_m: float) -> int:
    return int(outing.distance_m.searchsorted(distance_m))


def _in_degrees(celsius: float, system: System) -> float:
    return celsius * 1.8 + 32.0 if system == "miles" else celsius


def _degree_unit(system: System) -> str:
    return "degF" if system == "miles" else "degC"


def _down(value: float, places: int) -> Decimal:
    """Return a value as a counter shows it, cut off."""
    return Decimal(math.floor(value * 10**places + 1e-9)).scaleb(-places)


def _near(value: float, places: int) -> Decimal:
    """Return a value rounded, halves up."""
    return Decimal(math.floor(value * 10**places + 0.5)).scaleb(-places)
