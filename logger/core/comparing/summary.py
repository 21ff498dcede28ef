"""What of a drive is compared: its main figures, the conditions it was driven under, and its course in a few points. Pure."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from logger.core.geodesy import Floats, step_lengths_m
from logger.core.results.basis import basis_of
from logger.core.results.charts import charge_series, projected_series
from logger.core.results.figures import Absent, Answer, Line, Section
from logger.core.results.observed import Observed
from logger.core.results.told import told_by
from logger.core.results.whole import sections_of
from logger.core.track import Track
from logger.core.units import Distances

DRIVING_KMH = 20.0
"""Slower than this by GPS is no driving, for the speed that drives are compared by."""

DESCENT_PTS = 2.0
"""A charge that rises by more than this between two readings was filled: a descent gives a point, rarely two (ours)."""

_MOST_POINTS = 150
_END_FIXES = 30


@dataclass(frozen=True, slots=True)
class Compared:
    """A figure that drives are compared by.

    Attributes:
        key, label: its name for programs and for people.
        short: its name at the head of a column.
        unit: the base unit it has wherever it is known.
        places: decimals that people are shown.
        found: section and line of the results that have it; the first that knows it counts.
    """

    key: str
    label: str
    short: str
    unit: str
    places: int
    found: tuple[tuple[str, str], ...]


FIGURES = (
    Compared("range_at_zero", "Driven to 0 % shown", "to 0 %", "km", 1, (("range", "zero_by_gps"), ("range", "zero_by_trip"), ("range", "zero_by_odometer"))),
    Compared("range_projected", "Projected range, from where the drive began", "projected", "km", 1, (("projection", "last"),)),
    Compared("range_from_full", "Range from 100 % to 0 %", "from 100 %", "km", 1, (("range", "from_full"),)),
    Compared("consumption", "Consumption by usable energy", "consumption", "Wh/km", 1, (("energy", "by_usable"),)),
    Compared("consumption_shown", "Consumption as the dash shows it", "shown", "Wh/km", 1, (("energy", "shown_last"),)),
    Compared("promised_too_much", "What the dash promised too much at the start", "promised", "%", 1, (("predicted", "off_at_start"),)),
    Compared("mean_speed", "Mean speed by GPS, stops cut out", "mean speed", "km/h", 1, (("steadiness", "mean_moving"),)),
    Compared("near_target", "Time within 1 mph, or 2 km/h, of the target speed", "near target", "%", 1, (("steadiness", "within_first"),)),
    Compared("corrected_range", "Range at reference conditions, an estimate", "corrected", "km", 1, (("corrected", "corrected_range"),)),
)  # fmt: skip
"""What drives are compared by, in the order it is told."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a drive was driven under; None where nobody told or measured it.

    Attributes:
        temperature_c: of the air outside: the median of the readings, else the sheet's.
        wind_kmh: the sheet's.
        speed_kmh: the median GPS speed while driving.
        start_pct: the first charge read off.
        usable_kwh: the sheet's.
        apart_km: from the first place to the last, straight.
        driven_km: by GPS.
        climb_m: how much higher the last place is than the first.
        charged: what says that the car was charged on the way, "" where nothing does.
        tyres: what the sheet tells of tyres and wheels.
        ruler: by what its distances are measured: `gps`, `trip` or `odometer`; "" where there is nothing to measure by.
        doubts: how many entries nobody has settled.
    """

    temperature_c: float | None
    wind_kmh: float | None
    speed_kmh: float | None
    start_pct: float | None
    usable_kwh: float | None
    apart_km: float | None
    driven_km: float | None
    climb_m: float | None
    charged: str
    tyres: str | None
    ruler: str
    doubts: int


@dataclass(frozen=True, slots=True)
class Course:
    """A quantity along the drive in a few points: km from its beginning, and values, alike in number."""

    km: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Summary:
    """What of a drive is compared.

    Attributes:
        began_utc_ns: when it began.
        distances: what the driver's dash counts in.
        figures: the main ones in base units, the same keys in the same order for every drive.
        conditions: what it was driven under.
        charge: % along the drive.
        projected: the range projected at each reading, km.
    """

    began_utc_ns: int
    distances: Distances
    figures: tuple[Line, ...]
    conditions: Conditions
    charge: Course
    projected: Course


def summary_of(seen: Observed) -> Summary:
    """Return what of a drive is compared: as `work_out` has it, but nothing else is worked out."""
    basis = basis_of(seen)
    sections = sections_of(basis, {section for each in FIGURES for section, _ in each.found}, briefly=True)
    charge, projected = charge_series(basis), projected_series(basis)
    return Summary(
        began_utc_ns=seen.drive.began_utc_ns,
        distances=seen.distances,
        figures=tuple(Line(each.key, each.label, _answer(sections, each.found)) for each in FIGURES),
        conditions=conditions_of(seen, basis.ruler),
        charge=_course(charge.distance_km, charge.charge_pct),
        projected=_course(projected.distance_km, projected.range_km),
    )


def conditions_of(seen: Observed, ruler: str) -> Conditions:
    """Return what a drive was driven under; `ruler` says by what its distances are measured."""
    told = told_by(seen.test)
    outside = [reading.value for reading in seen.of("outside_temperature")]
    charges = seen.of("charge")
    ends = None if seen.track is None else _ends(seen.track)
    return Conditions(
        temperature_c=float(np.median(outside)) if outside else told.get("temperature"),
        wind_kmh=told.get("wind"),
        speed_kmh=None if seen.track is None else _speed_kmh(seen.track),
        start_pct=charges[0].value if charges else None,
        usable_kwh=told.get("usable"),
        apart_km=None if ends is None else ends[0],
        driven_km=None if seen.track is None else seen.track.length_m / 1000.0,
        climb_m=None if ends is None else ends[1],
        charged=_charged(seen),
        tyres=_tyres(seen.test),
        ruler=ruler,
        doubts=len(seen.doubts),
    )


def _answer(sections: Sequence[Section], places: tuple[tuple[str, str], ...]) -> Answer:
    found = [
        line.answer
        for section, key in places
        for each in sections
        if each.key == section
        for line in each.lines
        if line.key == key
    ]
    figures = [answer for answer in found if not isinstance(answer, Absent)]
    return (figures or found or [Absent("It was not worked out.")])[0]


def _course(km: Floats, values: Floats) -> Course:
    """Return a series without its gaps, thinned evenly."""
    known = np.flatnonzero(np.isfinite(km) & np.isfinite(values))
    if len(known) > _MOST_POINTS:
        known = known[np.linspace(0, len(known) - 1, _MOST_POINTS).round().astype(np.int64)]
    return Course(tuple(km[known].round(3).tolist()), tuple(values[known].round(3).tolist()))


def _speed_kmh(track: Track) -> float | None:
    kmh = track.speed_mps[np.isfinite(track.speed_mps)] * 3.6
    driving = kmh[kmh > DRIVING_KMH]
    if not len(driving):
        seconds = np.diff(track.utc_ns) / 1e9
        kmh = np.diff(track.distance_m) / seconds * 3.6
        driving = kmh[kmh > DRIVING_KMH]
    return float(np.median(driving)) if len(driving) else None


def _ends(track: Track) -> tuple[float, float | None]:
    """Return how far apart the ends are, in km, and how much higher the last is, in m."""
    ends = [0, -1]
    apart_km = float(step_lengths_m(track.lat_deg[ends], track.lon_deg[ends])[0]) / 1000.0
    known = track.altitude_m[np.isfinite(track.altitude_m)]
    if len(known) < 2 * _END_FIXES:
        return apart_km, None
    return apart_km, float(np.median(known[-_END_FIXES:]) - np.median(known[:_END_FIXES]))


def _charged(seen: Observed) -> str:
    for note in seen.notes:
        if "charging" in note.text.casefold():
            return f'a note says "{note.text}"'
    values = [reading.value for reading in seen.of("charge")]
    rises = [after - before for before, after in itertools.pairwise(values)]
    most = max(rises, default=0.0)
    return f"the charge rises by {most:g} points" if most > DESCENT_PTS else ""


def _tyres(test: Mapping[str, str | int | float | bool]) -> str | None:
    told = [
        f"{key} {value:g}" if isinstance(value, float) and math.isfinite(value) else f"{key} {value}"
        for key, value in sorted(test.items())
        if any(word in key.casefold() for word in ("tyre", "tire", "wheel"))
    ]
    return ", ".join(told) or None
