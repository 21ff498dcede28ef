"""How far a point of charge went: by bands of charge, and by laps, or out and back. Pure."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from logger.core.results.basis import Basis
from logger.core.results.cells import measure, number, text
from logger.core.results.charge_model import start_of
from logger.core.results.energy import spent
from logger.core.results.figures import Absent, Answer, Line, Section
from logger.core.results.laps import Leg, legs
from logger.core.results.spread import Z95, Interval, normal
from logger.core.table import Cell, Table

KEY = "bands"
EDGES = (100.0, 80.0, 60.0, 40.0, 20.0, 0.0)
LEAST_BAND_POINTS = 3.0
COLUMNS = (
    measure("from_pct", "%", "The charge shown where the band begins."),
    measure("to_pct", "%", "The charge first shown where it ends."),
    measure("distance_km", "km", "What was driven in it."),
    measure("low_km", "km", "Lower end of the distance's 95 % interval."),
    measure("high_km", "km", "Upper end of it."),
    measure("km_per_pct", "km/%", "Distance on a point of charge."),
    measure("low_km_per_pct", "km/%", "Lower end of its 95 % interval."),
    measure("high_km_per_pct", "km/%", "Upper end of it."),
)
LEG_COLUMNS = (
    text("leg", "`lap 1`, `lap 2` and so on, or `out` and `back`."),
    measure("from_km", "km", "Where it begins, from where the stretch that counts does."),
    measure("to_km", "km", "Where it ends."),
    measure("points", "%", "Charge used on it.", "too little was used to tell"),
    measure("km_per_pct", "km/%", "Distance on a point of charge.", "too little was used to tell"),
    measure("low_km_per_pct", "km/%", "Lower end of its 95 % interval.", "too little was used to tell"),
    measure("high_km_per_pct", "km/%", "Upper end of it.", "too little was used to tell"),
)


@dataclass(frozen=True, slots=True)
class Band:
    """What was driven between two charges."""

    from_pct: float
    to_pct: float
    distance: Interval
    per_point: Interval


def section(basis: Basis) -> Section:
    """Return distance by charge."""
    found = bands(basis)
    driven = legs(basis.seen, basis.stretch, basis.origin_km) if basis.ruler == "gps" else ()
    shared = [(leg, on_leg(basis, leg)) for leg in driven]
    lines = (
        Line("per_point", "Distance on a point of charge", _overall(basis)),
        Line("best_band", "The best band, on a point", _extreme(basis, found, best=True)),
        Line("worst_band", "The worst band, on a point", _extreme(basis, found, best=False)),
        Line("out_over_back", "Distance on a point, out over back", _out_over_back(shared)),
    )
    tables = []
    if found:
        tables.append(Table("bands", COLUMNS, tuple(_row(each) for each in found)))
    if driven:
        tables.append(Table("legs", LEG_COLUMNS, tuple(_leg_row(leg, used) for leg, used in shared)))
    return Section(KEY, "Distance by charge", lines, tuple(tables), _remarks(found))


def bands(basis: Basis) -> tuple[Band, ...]:
    """Return the bands, as far as the charge was read down through them."""
    if basis.model is None:
        return ()
    first, last = basis.marks[0].reading.value, min(each.reading.value for each in basis.marks)
    edges = [first, *(edge for edge in EDGES if last < edge < first), last]
    found = []
    for above, below in itertools.pairwise(edges):
        if above - below < LEAST_BAND_POINTS:
            continue
        band = _band(basis, above, below)
        if band is not None:
            found.append(band)
    return tuple(found)


def _band(basis: Basis, above: float, below: float) -> Band | None:
    model = basis.model
    if model is None:
        return None
    first = basis.marks[0].reading.value
    if above >= first:
        told = model.at(below)
        # From standing at the first reading to where the lower charge first appears.
        more, points_sd = start_of(first)
        points = above + more - below - 0.5
    else:
        told, points, points_sd = model.between(above, below), above - below, 0.0
    if told is None or told.km <= 0.0:
        return None
    km = normal(told.km, told.sd_km)
    if below <= 0.0 and isinstance(basis.zero, Interval):
        # Where 0 % came is known more narrowly than by the model.
        km = Interval(told.km, max(km.low, told.km - told.sd_km * Z95), km.high)
    relative = math.hypot(told.sd_km / told.km, points_sd / points)
    value = told.km / points
    return Band(above, below, km, normal(value, value * relative))


def _row(each: Band) -> tuple[Cell, ...]:
    return (
        number(each.from_pct, 1),
        number(each.to_pct, 1),
        number(each.distance.value, 1),
        number(each.distance.low, 1),
        number(each.distance.high, 1),
        number(each.per_point.value, 2),
        number(each.per_point.low, 2),
        number(each.per_point.high, 2),
    )


@dataclass(frozen=True, slots=True)
class Used:
    """Charge used on a leg, and the distance on a point of it."""

    points: float
    sd: float
    per_point: Interval


def on_leg(basis: Basis, leg: Leg) -> Used | None:
    """Return the charge used on a leg, by the charges read off around its ends; None where they tell too little."""
    km = np.array([each.km for each in basis.marks])
    shown = np.array([each.reading.value for each in basis.marks])
    if len(km) < 2:
        return None
    # As far as charges were read: many drive on after the last one.
    from_km, to_km = max(leg.from_km, float(np.min(km))), min(leg.to_km, float(np.max(km)))
    order = np.argsort(km, kind="stable")
    begin, end = (float(np.interp(at, km[order], shown[order])) for at in (from_km, to_km))
    points, length = begin - end, to_km - from_km
    if points < LEAST_BAND_POINTS or length <= 0.0:
        return None
    value = length / points
    return Used(points, LEG_SD, normal(value, value * LEG_SD / points))


LEG_SD = 0.41
"""Of a difference of two charges between readings, in points: sqrt(2 / 12)."""


def _leg_row(leg: Leg, used: Used | None) -> tuple[Cell, ...]:
    return (
        leg.name,
        number(leg.from_km, 1),
        number(leg.to_km, 1),
        number(used.points if used else None, 1),
        number(used.per_point.value if used else None, 2),
        number(used.per_point.low if used else None, 2),
        number(used.per_point.high if used else None, 2),
    )


def _overall(basis: Basis) -> Answer:
    used = spent(basis)
    if isinstance(used, Absent):
        return used
    if used.points_a_km.low <= 0.0:
        return Absent("The charge used is too uncertain.")
    return used.points_a_km.under(1.0).figure(
        "km", "the display's rounding", remark=f"A point is 1 % of charge; {used.what}."
    )


def _extreme(basis: Basis, found: tuple[Band, ...], *, best: bool) -> Answer:
    if len(found) < 2:
        return Absent(
            "Fewer than two bands of charge were read through."
            if found or basis.model
            else basis.why_not_projected
        )
    chosen = (max if best else min)(found, key=lambda each: each.per_point.value)
    remark = f"From {chosen.from_pct:g} % to {chosen.to_pct:g} %."
    return chosen.per_point.figure("km", "the display's rounding", remark=remark)


def _out_over_back(shared: list[tuple[Leg, Used | None]]) -> Answer:
    told = {leg.name: used for leg, used in shared}
    if "out" not in told or "back" not in told:
        return Absent(
            "The drive was not told to be out and back; write [out_and_back] in the sheet, or say 'note turning round' there."
        )
    out, back = told["out"], told["back"]
    if out is None or back is None:
        return Absent("The charge was not read off near both ends of both legs.")
    ratio = out.per_point.value / back.per_point.value
    sd = ratio * math.hypot(out.sd / out.points, back.sd / back.points)
    return normal(ratio, sd).figure("", "the display's rounding")


def _remarks(found: tuple[Band, ...]) -> tuple[str, ...]:
    if len(found) < 2:
        return ()
    return ("A difference between bands may be the road, the wind or a display that bends its charge.",)
