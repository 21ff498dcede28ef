"""The conditions that a sheet tells under `[test]`, as far as results are computed from them: numbers in base units. Pure.

The keys of `[test]` are free; these are the ones that figures come from. A number that cannot be used is left out and said in
`problems`: a drive is never refused for what its sheet tells of the weather.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from logger.core.units import KMH_PER_MPS, convert_exactly


@dataclass(frozen=True, slots=True)
class _Known:
    """A number that results are computed from: its units by the ending of its key, the first the base unit, and its limits there."""

    units: Mapping[str, str]
    lowest: float
    highest: float
    meaning: str


_DISTANCE = {"km": "km", "mi": "mi"}
_SPEED = {"kmh": "km/h", "mph": "mph", "mps": "m/s"}

KNOWN: Mapping[str, _Known] = MappingProxyType(
    {
        "usable": _Known({"kwh": "kWh"}, 1.0, 500.0, "energy from 100 % shown to 0 %"),
        "odometer": _Known(_DISTANCE, 0.0, 2_000_000.0, "what the odometer showed at the start"),
        "rated_range": _Known(_DISTANCE, 10.0, 2000.0, "the range by the car's rating"),
        "target_gps_speed": _Known(_SPEED, 5.0, 300.0, "the GPS speed that was held"),
        "temperature": _Known({"degC": "degC", "degF": "degF"}, -50.0, 60.0, "of the air outside"),
        "humidity": _Known({"pct": "%"}, 0.0, 100.0, "relative, of the air outside"),
        "pressure": _Known(
            {"hPa": "hPa"}, 500.0, 1100.0, "of the air where the drive began, not reduced to sea level"
        ),
        "wind": _Known(_SPEED, 0.0, 180.0, "the mean speed of the wind"),
        "wind_from": _Known(
            {"deg": "deg"}, 0.0, 360.0, "where the wind came from, clockwise from true north"
        ),
        "mass": _Known({"kg": "kg"}, 100.0, 10_000.0, "of the car with all in it"),
        "drag_area": _Known({"m2": "m2"}, 0.1, 5.0, "drag coefficient times frontal area"),
        "rolling_resistance": _Known({"": ""}, 0.002, 0.05, "its coefficient: force over weight"),
        "drive_efficiency": _Known({"": ""}, 0.3, 1.0, "energy at the wheels over energy from the battery"),
        "recovery_efficiency": _Known(
            {"": ""}, 0.0, 1.0, "energy back into the battery over energy at the wheels, on descents"
        ),
        "road_load_f0": _Known(
            {"N": "N"}, 0.0, 5000.0, "of a coastdown: F = F0 + F1 V + F2 V^2, V in km/h (SAE J2263)"
        ),
        "road_load_f1": _Known({"N_per_kmh": "N/(km/h)"}, -20.0, 20.0, "as above"),
        "road_load_f2": _Known({"N_per_kmh2": "N/(km/h)^2"}, 0.001, 0.5, "as above"),
        "auxiliary": _Known({"w": "W"}, 0.0, 20_000.0, "power for everything but driving"),
    }
)
"""By the name without its unit."""

CLASSES = ("small", "medium", "large", "van")
"""What the key `class` may say of the car."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the sheet tells.

    Attributes:
        numbers: by the names of `KNOWN`, in base units.
        problems: what of it cannot be used, a sentence each.
        car_class: one of `CLASSES`, None where the sheet tells none.
    """

    numbers: Mapping[str, float]
    problems: tuple[str, ...]
    car_class: str | None = None

    def get(self, name: str) -> float | None:
        """Return a number, None where the sheet does not tell it."""
        return self.numbers.get(name)


def told_by(test: Mapping[str, str | int | float | bool]) -> Told:
    """Return what a sheet tells."""
    numbers: dict[str, float] = {}
    problems: list[str] = []
    for name, known in KNOWN.items():
        keys = {f"{name}_{ending}" if ending else name: unit for ending, unit in known.units.items()}
        told = [key for key in keys if key in test]
        if len(told) > 1:
            problems.append(f"The sheet tells both {told[0]} and {told[1]}; only {told[0]} counts.")
        for key in told[:1]:
            value = _number(test[key], keys[key], next(iter(known.units.values())))
            if value is None:
                problems.append(f"The sheet's {key} is no number, so it counts for nothing.")
            elif not known.lowest <= value <= known.highest:
                problems.append(
                    f"The sheet's {key} of {test[key]} cannot be right, so it counts for nothing."
                )
            else:
                numbers[name] = value
    car_class = test.get("class")
    if car_class is not None and car_class not in CLASSES:
        problems.append(
            f"The sheet's class {car_class!r} is none of {', '.join(CLASSES)}, so it counts for nothing."
        )
        car_class = None
    return Told(MappingProxyType(numbers), tuple(problems), None if car_class is None else str(car_class))


def _number(value: str | float, unit: str, base: str) -> float | None:
    """Return a number in its base unit, None where it is none; infinite where it is more than a float can hold."""
    if isinstance(value, str | bool):
        return None
    try:
        if not math.isfinite(value):
            return None
        if unit == "m/s":  # only speeds are told in it, and their base is km/h
            return value * KMH_PER_MPS
        return float(convert_exactly(Fraction(value), unit, base))
    except OverflowError:
        return math.inf if value > 0 else -math.inf
