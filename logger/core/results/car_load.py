"""What holds a car back and what it draws for it: the road-load equation, from the sheet's numbers or a class of cars. Pure.

    force = 1/2 rho A (v + w) |v + w| + c m g + F0 + F1 v + m g dh/ds + 1.03 m v dv/ds
    drawn = sum of force x length, over the drive's efficiency where above 0, times that of recovery where below,
            and the auxiliary power times the time

with A the drag area, w the headwind, c the rolling resistance. A coastdown's F0, F1 and F2 (SAE J2263: F = F0 + F1 V + F2 V^2 in
newtons, V in km/h, in calm air of 1.16709 kg/m3) take the place of c and A. 1.03 counts the turning wheels (SAE J2263).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from logger.core.geodesy import Floats
from logger.core.results.air import REFERENCE_KG_M3
from logger.core.results.air_density import GRAVITY_MPS2
from logger.core.results.told import Told
from logger.core.units import KMH_PER_MPS

TURNING_MASS = 1.03

CLASS_NUMBERS: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "small": {"mass": 1_350.0, "drag_area": 0.63, "rolling_resistance": 0.0095},
        "medium": {"mass": 1_850.0, "drag_area": 0.65, "rolling_resistance": 0.0095},
        "large": {"mass": 2_350.0, "drag_area": 0.75, "rolling_resistance": 0.0095},
        "van": {"mass": 2_500.0, "drag_area": 1.25, "rolling_resistance": 0.0100},
    }
)
"""Assumptions of ours, from common knowledge of cars; with a driver, and air and tyres as they are on the road."""
ANY_CAR: Mapping[str, float] = MappingProxyType(
    {"drive_efficiency": 0.88, "recovery_efficiency": 0.65, "auxiliary": 600.0}
)
"""Assumptions of ours for any car."""

TOLD_SD: Mapping[str, float] = MappingProxyType(
    {
        "mass": 0.02,
        "drag_area": 0.04,
        "rolling_resistance": 0.08,
        "road_load_f0": 0.06,
        "road_load_f1": 0.2,
        "drive_efficiency": 0.02,
        "recovery_efficiency": 0.08,
        "auxiliary": 0.2,
    }
)
"""Standard deviations of what a sheet tells, as shares of it (judgement). `road_load_f2` becomes a drag area."""
ASSUMED_SD: Mapping[str, float] = MappingProxyType(
    {
        "mass": 0.15,
        "drag_area": 0.15,
        "rolling_resistance": 0.2,
        "drive_efficiency": 0.04,
        "recovery_efficiency": 0.15,
        "auxiliary": 0.5,
    }
)
"""The same of what is assumed of a car."""


@dataclass(frozen=True, slots=True)
class CarLoad:
    """What holds a car back.

    Attributes:
        numbers: by the names of `TOLD_SD`; those that play no part are 0.
        sds: their standard deviations, in their own units.
        told: the names that the sheet tells.
        car_class: where the others come from; None where all of them are told.
    """

    numbers: Mapping[str, float]
    sds: Mapping[str, float]
    told: tuple[str, ...]
    car_class: str | None


def load_of(told: Told) -> CarLoad | str:
    """Return what holds the car back; a sentence where too little is told."""
    numbers = {name: value for name in TOLD_SD if (value := told.get(name)) is not None}
    f2 = told.get("road_load_f2")
    if f2 is not None and "road_load_f0" in numbers:
        numbers["drag_area"] = 2.0 * f2 * KMH_PER_MPS**2 / REFERENCE_KG_M3
        numbers["rolling_resistance"] = 0.0
        numbers.setdefault("road_load_f1", 0.0)
    else:
        numbers = {name: value for name, value in numbers.items() if not name.startswith("road_load")}
    known = dict(numbers)
    assumed = ANY_CAR if told.car_class is None else {**ANY_CAR, **CLASS_NUMBERS[told.car_class]}
    for name, value in assumed.items():
        numbers.setdefault(name, value)
    missing = [name for name in ("mass", "drag_area", "rolling_resistance") if name not in numbers]
    if missing:
        return (
            "The sheet tells too little of the car: write its class (small, medium, large or van), or mass_kg, "
            "drag_area_m2 and rolling_resistance."
        )
    for name in ("road_load_f0", "road_load_f1"):
        numbers.setdefault(name, 0.0)
    sds = {
        name: abs(value) * (TOLD_SD[name] if name in known or name not in ASSUMED_SD else ASSUMED_SD[name])
        for name, value in numbers.items()
    }
    from_class = any(name not in known for name in ("mass", "drag_area", "rolling_resistance"))
    return CarLoad(
        MappingProxyType(numbers),
        MappingProxyType(sds),
        tuple(sorted(known)),
        told.car_class if from_class else None,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Going:
    """How the car went and against what; `edge_mps` has shape (n+1,), the other arrays (n,), or (m, n) for m ways of going.

    Attributes:
        lengths_m: of the cells, shape (n,).
        speed_mps: the mean speed in each.
        edge_mps: the speed where they begin and end.
        headwind_mps: against the car.
        rises_m: how much higher each cell ends than it begins.
        air_kg_m3: the density of the air; shape () or (m, 1).
        seconds: how long it all took.
    """

    lengths_m: Floats
    speed_mps: Floats
    edge_mps: Floats
    headwind_mps: Floats
    rises_m: Floats
    air_kg_m3: float | Floats
    seconds: float


def drawn_wh_per_km(numbers: Mapping[str, float] | Mapping[str, Floats], going: Going) -> Floats:
    """Return what the battery gives for a kilometre, on average; shape (), or (m,) where `numbers` have shape (m, 1)."""
    mass, through_air = numbers["mass"], going.speed_mps + going.headwind_mps
    # What differs from way to way is multiplied last, so that what is the same for all is worked out once.
    wheels = (
        0.5 * going.air_kg_m3 * numbers["drag_area"] * (np.abs(through_air) * through_air * going.lengths_m)
    )
    rolling = numbers["rolling_resistance"] * mass * GRAVITY_MPS2 + numbers["road_load_f0"]
    wheels += rolling * going.lengths_m
    if np.any(numbers["road_load_f1"]):
        wheels += numbers["road_load_f1"] * (KMH_PER_MPS * going.speed_mps * going.lengths_m)
    kinetic = 0.5 * TURNING_MASS / GRAVITY_MPS2 * np.diff(going.edge_mps**2)
    wheels += mass * GRAVITY_MPS2 * (going.rises_m + kinetic)
    whole, driving = (np.sum(each, axis=-1, keepdims=True) for each in (wheels, np.maximum(wheels, 0.0)))
    joules = driving / numbers["drive_efficiency"] + (whole - driving) * numbers["recovery_efficiency"]
    joules += numbers["auxiliary"] * going.seconds
    return np.asarray(joules[..., 0] / 3.6 / float(going.lengths_m.sum()))
