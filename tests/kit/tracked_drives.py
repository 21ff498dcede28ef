"""Drives as results see them, from fixes that a test makes up: straight roads, laps, stops and hills."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from types import MappingProxyType

import numpy as np
from geographiclib.geodesic import Geodesic
from simulated_drives import BEGAN_NS, NANO

from logger.core.geodesy import Floats
from logger.core.results.observed import Note, Observed, Reading
from logger.core.track import Track
from logger.core.units import Distances
from logger.core.way import Way
from logger.model import Drive, Fix

START = (45.2, 13.7)
CAR = {
    "mass_kg": 1500,
    "drag_area_m2": 0.6,
    "rolling_resistance": 0.01,
    "drive_efficiency": 0.9,
    "recovery_efficiency": 0.6,
    "auxiliary_w": 500,
    "temperature_degC": 0,
    "humidity_pct": 0,
    "wind_mps": 5,
    "wind_from_deg": 0,
    "target_gps_speed_kmh": 90,
}


def seen_of(
    fixes: Iterable[Fix] | None,
    test: Mapping[str, str | int | float | bool] | None = None,
    *,
    readings: Mapping[str, tuple[Reading, ...]] | None = None,
    notes: Iterable[tuple[float, str]] = (),
    way: Way | None = None,
    distances: Distances = "km",
) -> Observed:
    """Return a drive as results see it; `notes` are seconds and words."""
    return Observed(
        drive=Drive(BEGAN_NS, ""),
        readings=MappingProxyType(dict(readings or {})),
        notes=tuple(Note(at_s, text, None) for at_s, text in notes),
        doubts=(),
        track=None if fixes is None else Track.from_fixes(fixes)[0],
        test=MappingProxyType(dict(test or {})),
        way=way,
        distances=distances,
    )


def reading(quantity: str, at_s: float, value: float, unit: str) -> tuple[str, Reading]:
    """Return a reading under its quantity."""
    return quantity, Reading(f"{at_s:g}-1", at_s, value, 1.0, None, Decimal(str(value)), unit)


def straight(
    azimuth_deg: float,
    driven_m: Iterable[float],
    altitude_m: Callable[[Floats], Floats] | None = None,
    *,
    speeds_mps: Iterable[float] | None = None,
    every_s: float = 1.0,
) -> list[Fix]:
    """Return exact fixes along a geodesic, one each `every_s`; there is a speed where speeds are given."""
    driven = np.array(list(driven_m), dtype=np.float64)
    heights = [None] * len(driven) if altitude_m is None else altitude_m(driven).tolist()
    speeds = [None] * len(driven) if speeds_mps is None else list(speeds_mps)
    line = Geodesic.WGS84.Line(*START, azimuth_deg)
    fixes = []
    for number, (along, height, speed) in enumerate(zip(driven.tolist(), heights, speeds, strict=True)):
        spot = line.Position(along)
        when = BEGAN_NS + round(number * every_s * NANO)
        fixes.append(Fix(when, spot["lat2"], spot["lon2"], altitude_m=height, speed_mps=speed))
    return fixes


def out_and_back(azimuth_deg: float, out_m: float, speed_mps: float) -> list[Fix]:
    """Return exact fixes out along a geodesic and back to its start, a fix a second."""
    out = np.arange(0.0, out_m, speed_mps)
    return straight(azimuth_deg, [*out.tolist(), out_m, *out[::-1].tolist()])


def northwards(test: dict[str, float | str] | None = None, grade: float = 0.0) -> Observed:
    """40 km north at 25 m/s, at 200 m."""
    driven = np.arange(0.0, 40_000.0, 25.0)
    return seen_of(straight(0.0, driven, lambda along: 200.0 + grade * along), CAR if test is None else test)
