"""What the charts show of charge, range and consumption. Pure."""

from __future__ import annotations

import math

import numpy as np

from logger.core.results.basis import Basis
from logger.core.results.predicted import promises
from logger.core.results.projection import checkpoints
from logger.core.results.series import (
    ChargeSeries,
    PredictedSeries,
    ProjectedSeries,
    StretchSeries,
    WaySeries,
    floats,
)
from logger.core.results.spread import Interval

MOST_PLACES = 2000
_TRIANGLE_95 = 1.0 - math.sqrt(0.05)
"""A difference of two readings rounded alike is off by at most one step; in 95 of 100 cases by no more than this share of it."""
LEAST_POINTS = 2.0
"""Stretches between readings are joined until so much was used: with less the interval says nothing."""


def charge_series(basis: Basis) -> ChargeSeries:
    """Return the charges read off."""
    return ChargeSeries(
        floats([each.km for each in basis.marks]), floats([each.reading.value for each in basis.marks])
    )


def projected_series(basis: Basis) -> ProjectedSeries:
    """Return the projections."""
    points = checkpoints(basis)

    def column(name: str) -> list[float]:
        return [
            math.nan if each.projected is None else float(getattr(each.projected, name)) for each in points
        ]

    return ProjectedSeries(
        floats([each.driven_km for each in points]),
        floats(column("value")),
        floats(column("low")),
        floats(column("high")),
        floats([math.nan if each.rule_of_thumb_km is None else each.rule_of_thumb_km for each in points]),
    )


def predicted_series(basis: Basis) -> PredictedSeries:
    """Return what the dash promised."""
    made = promises(basis)
    return PredictedSeries(
        floats([each.driven_km for each in made]),
        floats([each.reading.value for each in made]),
        floats([each.in_all_km for each in made]),
    )


def stretch_series(basis: Basis) -> StretchSeries:
    """Return consumption between charges read off, joined until `LEAST_POINTS` were used."""
    rows: list[tuple[float, ...]] = []
    usable = basis.told.get("usable")
    if basis.marks:
        begin = basis.marks[0]
        for mark in basis.marks[1:]:
            used, km = begin.reading.value - mark.reading.value, mark.km - begin.km
            if used < LEAST_POINTS or km <= 0.0:
                continue
            step = max(begin.reading.step, mark.reading.step)
            rate, half = used / km * 100.0, _TRIANGLE_95 * step / km * 100.0
            wh = math.nan if usable is None else rate * usable / 10.0
            rows.append((begin.km, mark.km, rate, max(0.0, rate - half), rate + half, wh))
            begin = mark
    columns = [list(column) for column in zip(*rows, strict=True)] if rows else [[] for _ in range(6)]
    return StretchSeries(*(floats(column) for column in columns))


def way_series(basis: Basis) -> WaySeries:
    """Return the way driven, and the checkpoints on it."""
    track = basis.seen.track
    if track is None:
        return WaySeries(*(floats([]) for _ in range(5)))
    count = len(track.utc_ns)
    chosen = np.unique(np.linspace(0, count - 1, min(count, MOST_PLACES)).astype(np.int64))
    places, charges = [], []
    for at_s, charge in _calls(basis):
        place = track.at(basis.seen.drive.began_utc_ns + round(at_s * 1e9))
        if place is not None:
            places.append((place.lat_deg, place.lon_deg))
            charges.append(charge)
    return WaySeries(
        floats(track.lat_deg[chosen].tolist()),
        floats(track.lon_deg[chosen].tolist()),
        floats([lat for lat, _ in places]),
        floats([lon for _, lon in places]),
        floats(charges),
    )


def _calls(basis: Basis) -> list[tuple[float, float]]:
    """Return when something was read off, once a call, and the charge read with it, NaN where none was."""
    found: dict[str, tuple[float, float]] = {}
    for quantity, each in ((name, one) for name, many in basis.seen.readings.items() for one in many):
        call = each.entry_id.rsplit("-", 1)[0]
        at_s, charge = found.get(call, (each.at_s, math.nan))
        found[call] = (min(at_s, each.at_s), each.value if quantity == "charge" else charge)
    return sorted(found.values(), key=lambda each: each[0])


def reached_km(basis: Basis) -> float | None:
    """Return where 0 % was first shown."""
    return basis.zero.value if isinstance(basis.zero, Interval) else None
