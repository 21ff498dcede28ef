"""What the trip meter and the odometer showed between the readings of them, and by how much they count otherwise than GPS. Pure.

Between two readings a meter is taken to go on as GPS does, times its factor; without GPS, evenly in time.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logger.core.results.figures import Absent
from logger.core.results.observed import Observed, Reading
from logger.core.results.spread import Z95, Fitted, Interval, line_through, t95
from logger.core.results.stretch import Stretch
from logger.core.rows import MAX_GAP_S

LEAST_SPAN_KM = 5.0
"""A factor from readings closer together says more of their last digit than of the meter."""

GPS_DRIFT = 0.0013
"""Standard deviation of a GPS distance over the square root of it, both in km: what a receiver's error adds is a random walk."""
WALK_IN_SLOPE = 1.2
"""By so much the variance of a least squares slope over a random walk is that of the walk from end to end."""

_AT_ONCE_S = 15.0
_MOST_APART_S = 1800.0
_NANO = 1e9


@dataclass(frozen=True, slots=True)
class Meter:
    """The trip meter or the odometer over the stretch that counts.

    Attributes:
        quantity: `trip` or `odometer`.
        pieces: its readings, cut where the trip was reset; each rising.
        factor: what it counts for a kilometre by GPS, with its interval; or why that is not known.
    """

    quantity: str
    pieces: tuple[tuple[Reading, ...], ...]
    factor: Interval | Absent


def gps_km_at(seen: Observed, at_s: float) -> float | None:
    """Return how far the car had driven by GPS at an instant; None where nobody was measuring."""
    if seen.track is None or not math.isfinite(at_s):
        return None
    place = seen.track.at(seen.drive.began_utc_ns + round(at_s * _NANO))
    if place is None or place.gap_s > MAX_GAP_S or not math.isfinite(place.distance_m):
        return None
    return place.distance_m / 1000.0


def meter_of(seen: Observed, stretch: Stretch, quantity: str) -> Meter:
    """Return a meter as it was read off in the stretch that counts."""
    readings = [each for each in seen.of(quantity) if stretch.holds(each.at_s)]
    resets = [note.at_s for note in seen.notes if note.text == "trip reset"] if quantity == "trip" else []
    pieces: list[list[Reading]] = [[]]
    for each in readings:
        last = pieces[-1][-1] if pieces[-1] else None
        if last is not None and (
            each.value < last.value - each.step or any(last.at_s < at_s <= each.at_s for at_s in resets)
        ):
            pieces.append([])
        pieces[-1].append(each)
    kept = tuple(tuple(piece) for piece in pieces if piece)
    return Meter(quantity, kept, factor_of(kept, quantity))


def factor_of(pieces: Sequence[Sequence[Reading]], quantity: str) -> Interval | Absent:
    """Return the slope of the meter over GPS by least squares, each piece with a level of its own."""
    x, y, levels = _centred(pieces)
    name = {"trip": "trip meter", "odometer": "odometer"}.get(quantity, quantity)
    if len(x) - levels < 2:
        return Absent(f"The {name} was read off fewer than three times together with a GPS position.")
    span = float(np.max(x) - np.min(x))
    if span < LEAST_SPAN_KM:
        return Absent(
            f"The readings of the {name} with a GPS position lie within {LEAST_SPAN_KM:g} km, too close for a factor."
        )
    line = line_through(x, y)
    if line is None or not line.slope > 0.0:
        return Absent(f"The readings of the {name} do not rise with the GPS distance.")
    return _with_drift(line, span, len(x) - 1 - levels)


def _centred(pieces: Sequence[Sequence[Reading]]) -> tuple[np.ndarray, np.ndarray, int]:
    xs: list[float] = []
    ys: list[float] = []
    levels = 0
    for piece in pieces:
        both = [(each.gps_km, each.value) for each in piece if each.gps_km is not None]
        if len(both) < 2:
            continue
        levels += 1
        x, y = np.array(both, dtype=np.float64).T
        xs += (x - np.mean(x)).tolist()
        ys += (y - np.mean(y)).tolist()
    return np.array(xs), np.array(ys), levels


def _with_drift(line: Fitted, span_km: float, freedom: int) -> Interval:
    # Each piece has taken a degree of freedom for its level, where `line_through` counts one for all.
    fitted_sd = line.slope_sd * math.sqrt(line.freedom / freedom)
    half = math.hypot(
        t95(freedom) * fitted_sd, Z95 * line.slope * GPS_DRIFT * math.sqrt(WALK_IN_SLOPE / span_km)
    )
    return Interval(line.slope, line.slope - half, line.slope + half)


@dataclass(frozen=True, slots=True)
class Shown:
    """What a meter showed at an instant, as an interval that is certain but for its last digit; and which piece that is of."""

    value: float
    low: float
    high: float
    piece: int


def shown_at(seen: Observed, meter: Meter, at_s: float) -> Shown | None:
    """Return what a meter showed at an instant; None where no reading is near enough to tell."""
    here = gps_km_at(seen, at_s)
    best: tuple[float, Shown] | None = None
    for index, piece in enumerate(meter.pieces):
        for each in piece:
            apart_s = abs(each.at_s - at_s)
            if best is not None and apart_s >= best[0]:
                continue
            if isinstance(meter.factor, Interval) and here is not None and each.gps_km is not None:
                value = each.value + meter.factor.value * (here - each.gps_km)
                best = (apart_s, Shown(value, value, value + each.step, index))
            elif apart_s <= _AT_ONCE_S:
                best = (apart_s, Shown(each.value, each.value, each.value + each.step, index))
    return _in_time(meter, at_s) if best is None else best[1]


def _in_time(meter: Meter, at_s: float) -> Shown | None:
    for index, piece in enumerate(meter.pieces):
        for before, after in itertools.pairwise(piece):
            gap_s = after.at_s - before.at_s
            if before.at_s <= at_s <= after.at_s and 0.0 < gap_s <= _MOST_APART_S:
                share = (at_s - before.at_s) / gap_s
                value = before.value + share * (after.value - before.value)
                return Shown(value, before.value, after.value + after.step, index)
    return None
