"""What several sections start from, worked out once: the stretch that counts, how far along each charge was read, and when 0 came. Pure."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logger.core.charge_left import LEAST_USED
from logger.core.results.charge_model import ChargeModel, Estimate
from logger.core.results.figures import Absent
from logger.core.results.observed import Observed, Reading
from logger.core.results.rulers import GPS_DRIFT, Meter, gps_km_at, meter_of, shown_at
from logger.core.results.spread import Interval, between
from logger.core.results.stretch import Stretch, stretch_of
from logger.core.results.told import Told, told_by

LEAST_DRIVEN_KM = 1.0
"""With less driven nothing is projected, as "how far" does not."""

LATE = 0.12
"""What the interval of where 0 % came leaves out of the model's expectation, all of it at the lower end: many call 0 % out right
after it has appeared, so that the truth is close below the reading of it. Chosen on TUNING drives for 95 of 100."""

MOST_READINGS = 130
"""Of more charges only those count at which the display had changed."""

_NAMES = {"gps": "GPS", "trip": "the trip meter", "odometer": "the odometer"}


@dataclass(frozen=True, slots=True)
class Mark:
    """A charge that was read off and how far along the car then was, from where the stretch begins."""

    reading: Reading
    km: float


@dataclass(frozen=True, slots=True, eq=False)
class Basis:
    """What several sections start from.

    Attributes:
        seen: the drive.
        told: the numbers of its sheet.
        stretch: the part of it that counts.
        ruler: by what distances are measured: `gps`, `trip` or `odometer`; "" where there is nothing to measure by.
        origin_km: what the ruler showed where the stretch begins.
        marks: the charges that have a distance, in order.
        trip, odometer: the meters over the stretch.
        end_km: how far along the stretch ends.
        model: the course of the charge; None where too little was used or driven.
        projected: as of each mark, the distance from the beginning at which 0 % appears; None where it cannot be told.
        zero: that distance as it was read off, as an interval; or why it was not.
    """

    seen: Observed
    told: Told
    stretch: Stretch
    ruler: str
    origin_km: float
    marks: tuple[Mark, ...]
    trip: Meter
    odometer: Meter
    end_km: float | None
    model: ChargeModel | None
    projected: tuple[Interval | None, ...]
    zero: Interval | Absent

    @property
    def ruler_name(self) -> str:
        """What distances are measured by, for a sentence."""
        return _NAMES.get(self.ruler, "nothing")

    @property
    def but_for_ruler(self) -> str:
        """What no interval of a distance covers, for the end of what it does: what a meter counts too much or too little."""
        return "" if self.ruler == "gps" else f"; not what {self.ruler_name} counts wrong"

    @property
    def first(self) -> Mark | None:
        """The first charge that has a distance."""
        return self.marks[0] if self.marks else None

    @property
    def zero_mark(self) -> int | None:
        """The index of the first mark of 0 %."""
        return next((index for index, each in enumerate(self.marks) if each.reading.value <= 0.0), None)

    @property
    def why_not_projected(self) -> str:
        """Why nothing is projected."""
        if not self.stretch.charges:
            return "No charge was read off, so there is nothing to project from; call out the charge with each checkpoint."
        if not self.marks:
            return "No charge was read off where the distance is known; record GPS, or read the trip meter with the charge."
        if len(self.marks) == 1:
            return "Only one charge was read off where the distance is known; a projection takes two."
        return (
            f"The charge fell by less than {LEAST_USED:g} points, or the car drove less than {LEAST_DRIVEN_KM:g} km, "
            "between the first and the last charge read off: too little to project from."
        )

    def km_of(self, reading: Reading) -> float | None:
        """Return how far along the stretch something was read off; None where the distance is not known."""
        if self.ruler == "gps":
            return None if reading.gps_km is None else reading.gps_km - self.origin_km
        meter = {"trip": self.trip, "odometer": self.odometer}.get(self.ruler)
        shown = None if meter is None else shown_at(self.seen, meter, reading.at_s)
        return None if shown is None else shown.value - self.origin_km

    def reach(self) -> Interval | Absent:
        """Return the distance from the stretch's beginning to 0 %: as it was reached, else as it is projected."""
        return self.zero if isinstance(self.zero, Interval) else self.projection(len(self.marks) - 1)

    def projection(self, index: int) -> Interval | Absent:
        """Return the distance from the beginning to 0 %, as projected after a mark."""
        projected = self.projected[index] if 0 <= index < len(self.projected) else None
        return Absent(self.why_not_projected) if projected is None else projected


def basis_of(seen: Observed, charges: tuple[Reading, ...] | None = None) -> Basis:
    """Return what the sections start from.

    Args:
        seen: the drive.
        charges: the charges to go by, in the order of the drive; None for those that count.
    """
    stretch = stretch_of(seen, charges)
    trip, odometer = meter_of(seen, stretch, "trip"), meter_of(seen, stretch, "odometer")
    meters = {"trip": trip, "odometer": odometer}
    ruler, origin_km, marks = _measured(seen, stretch, trip, odometer)
    model = _model(marks)
    none: tuple[None, ...] = (None,) * len(marks)
    expected, projected = (none, none) if model is None else _projected(model, marks)
    return Basis(
        seen=seen,
        told=told_by(seen.test),
        stretch=stretch,
        ruler=ruler,
        origin_km=origin_km,
        marks=marks,
        trip=trip,
        odometer=odometer,
        end_km=_end_km(seen, stretch, ruler, origin_km, meters.get(ruler)),
        model=model,
        projected=projected,
        zero=_zero(stretch, marks, expected),
    )


def _measured(
    seen: Observed, stretch: Stretch, trip: Meter, odometer: Meter
) -> tuple[str, float, tuple[Mark, ...]]:
    """Return the ruler, what it showed at the beginning, and the charges that have a distance by it.

    GPS is the ruler where two charges have a place; where some have none, the trip meter bridges what it can.
    """
    placed = [each.gps_km for each in stretch.charges if each.gps_km is not None]
    if len(placed) >= min(2, len(stretch.charges)) and placed:
        begin = gps_km_at(seen, max(stretch.from_s, _track_began_s(seen))) if stretch.from_s else 0.0
        origin = begin if begin is not None else placed[0]
        along = [
            (each, each.gps_km if each.gps_km is not None else _bridged(trip, each))
            for each in stretch.charges
        ]
        return "gps", origin, _marks(along, origin)
    for meter in (trip, odometer):
        found = [(each, shown_at(seen, meter, each.at_s)) for each in stretch.charges]
        known = [(each, shown) for each, shown in found if shown is not None and shown.piece == 0]
        if len(known) >= 2 and len(meter.pieces) == 1:
            origin = 0.0 if meter.quantity == "trip" and stretch.from_s <= 0.0 else known[0][1].value
            return meter.quantity, origin, _marks([(each, shown.value) for each, shown in known], origin)
    return "", 0.0, ()


def _track_began_s(seen: Observed) -> float:
    return 0.0 if seen.track is None else seen.seconds(seen.track.began_utc_ns)


def _bridged(trip: Meter, charge: Reading) -> float | None:
    """Return the GPS distance of a charge read where nobody was measuring, by the trip read with it."""
    if isinstance(trip.factor, Absent):
        return None
    for piece in trip.pieces:
        here = min(piece, key=lambda each: abs(each.at_s - charge.at_s))
        placed = [each for each in piece if each.gps_km is not None]
        if abs(here.at_s - charge.at_s) <= _AT_ONCE_S and placed:
            near = min(placed, key=lambda each: abs(each.at_s - charge.at_s))
            if near.gps_km is not None:
                return near.gps_km + (here.value - near.value) / trip.factor.value
    return None


_AT_ONCE_S = 15.0


def _marks(along: Sequence[tuple[Reading, float | None]], origin_km: float) -> tuple[Mark, ...]:
    return tuple(Mark(each, km - origin_km) for each, km in along if km is not None)


def _model(marks: Sequence[Mark]) -> ChargeModel | None:
    if len(marks) < 2:
        return None
    used = marks[0].reading.value - min(each.reading.value for each in marks)
    if used < LEAST_USED or marks[-1].km - marks[0].km < LEAST_DRIVEN_KM:
        return None
    upto = _telling(marks)
    km = np.array([marks[index].km for index in upto])
    shown = np.array([marks[index].reading.value for index in upto])
    if not np.isfinite(km).all():  # so many digits were said that no number holds them
        return None
    step = min([1.0, *(marks[index].reading.step for index in upto)])
    return ChargeModel(km, shown, step)


def _telling(marks: Sequence[Mark]) -> list[int]:
    """Return the marks that the model is made of: until 0 % is shown, from where it stays; of very many, the first of each charge.

    That is where the display has just changed, which tells most. The last one is always among them.
    """
    zero = next((index for index, each in enumerate(marks) if each.reading.value <= 0.0), len(marks) - 1)
    upto = list(range(zero + 1))
    if len(upto) <= MOST_READINGS:
        return upto
    changed = [index for index in upto[1:-1] if marks[index].reading.value != marks[index - 1].reading.value]
    return [0, *changed[:MOST_READINGS], upto[-1]]


def _projected(
    model: ChargeModel, marks: Sequence[Mark]
) -> tuple[tuple[Estimate | None, ...], tuple[Interval | None, ...]]:
    """Return the distance at which 0 % appears, as after each mark, and as the interval beyond that mark."""
    first, telling = marks[0], _telling(marks)
    expected = model.at_each(0.0)
    after = [bisect_right(telling, index) - 1 for index in range(len(marks))]
    told = model.intervals(0.0, after, np.array([mark.km - first.km for mark in marks]))
    estimates: list[Estimate | None] = []
    intervals: list[Interval | None] = []
    for mark, place, interval in zip(marks, after, told, strict=True):
        enough = (
            first.reading.value - mark.reading.value >= LEAST_USED and mark.km - first.km >= LEAST_DRIVEN_KM
        )
        estimate = expected[place]
        if interval is None or estimate is None or not enough:
            estimates.append(None)
            intervals.append(None)
        else:
            estimates.append(Estimate(max(mark.km, first.km + estimate.km), estimate.sd_km))
            intervals.append(interval.plus(first.km))
    return tuple(estimates), tuple(intervals)


def _zero(stretch: Stretch, marks: Sequence[Mark], expected: Sequence[Estimate | None]) -> Interval | Absent:
    """Return where 0 % was first shown: between the last reading above it and the first of it."""
    if stretch.zero is None:
        least = min((each.value for each in stretch.charges), default=None)
        if least is None:
            return Absent("No charge was read off, so nobody knows when 0 % was shown.")
        return Absent(f"The charge was not read down to 0 %: the least was {least:g} %.")
    zero = next((index for index, each in enumerate(marks) if each.reading.value <= 0.0), None)
    if zero is None:
        return Absent("0 % was read off where the distance is not known.")
    if zero == 0:
        return Absent("Only 0 % was read off, no charge before it where the distance is known.")
    low, high = marks[zero - 1].km, marks[zero].km
    then = expected[zero - 1]
    mean, sd = (then.km, then.sd_km) if then is not None else (high, float("inf"))
    return between(mean, sd, low, max(low, high), LATE).wider(GPS_DRIFT * max(high, 0.0) ** 0.5)


def _end_km(
    seen: Observed, stretch: Stretch, ruler: str, origin_km: float, meter: Meter | None
) -> float | None:
    if ruler == "gps" and seen.track is not None:
        end = gps_km_at(seen, min(stretch.to_s, seen.seconds(seen.track.ended_utc_ns)))
        return None if end is None else end - origin_km
    if meter is None or not meter.pieces:
        return None
    return meter.pieces[-1][-1].value - origin_km
