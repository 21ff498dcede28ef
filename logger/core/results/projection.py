"""The range that could be told at each checkpoint, how it came closer to the end, and the rule of thumb beside it. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logger.core.results.basis import Basis, Mark
from logger.core.results.cells import measure, number, text
from logger.core.results.figures import Absent, Answer, Figure, Line, Section
from logger.core.results.range_driven import projected_covers
from logger.core.results.spread import Interval
from logger.core.table import Cell, Table

KEY = "projection"
TELLING_M = 100.0
"""Lifting a car by so much takes about a point of its charge."""
CLOSE = 0.05
"""Within this share of the end a projection is called close."""
_SHARES = ((75.0, "three_quarters", "three quarters"), (50.0, "half", "half"), (25.0, "quarter", "a quarter"))

COLUMNS = (
    text("entry_id", "The charge that the row is about."),
    measure("at_s", "s", "When it was said, since the drive began."),
    measure("driven_km", "km", "Distance from where the stretch that counts begins."),
    measure("charge_pct", "%", "The charge as read off."),
    measure("projected_km", "km", "Distance from the beginning to 0 % shown, as could be told then.", "too little was used"),
    measure("low_km", "km", "Lower end of its 95 % interval.", "too little was used"),
    measure("high_km", "km", "Upper end of its 95 % interval.", "too little was used"),
    measure(
        "rule_of_thumb_km", "km", "Distance driven times the charge at the start, over the charge used.", "none was used"
    ),
    measure("left_km", "km", "What of the projected distance was still to drive.", "too little was used"),
)  # fmt: skip

_AROUND = 30


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """What could be told at a charge that was read off."""

    entry_id: str
    at_s: float
    driven_km: float
    charge_pct: float
    projected: Interval | None
    rule_of_thumb_km: float | None


def checkpoints(basis: Basis) -> tuple[Checkpoint, ...]:
    """Return what could be told at each charge after the first, until 0 % was shown."""
    if not basis.marks:
        return ()
    first = basis.marks[0]
    found = []
    for index, mark in enumerate(basis.marks[1:], start=1):
        used = first.reading.value - mark.reading.value
        driven = mark.km - first.km
        thumb = first.km + driven * first.reading.value / used if used > 0.0 and driven > 0.0 else None
        projection = basis.projection(index)
        told = projection if isinstance(projection, Interval) else None
        found.append(
            Checkpoint(mark.reading.entry_id, mark.reading.at_s, mark.km, mark.reading.value, told, thumb)
        )
    zero = basis.zero_mark
    return tuple(found if zero is None else found[: max(0, zero - 1)])


def section(basis: Basis) -> Section:
    """Return the projections."""
    points = checkpoints(basis)
    lines = [
        Line(f"at_{key}", f"Projected at {name} of the charge", _at(basis, points, share))
        for share, key, name in _SHARES
    ]
    lines += [
        Line("last", "Projected at the last checkpoint", _last(basis, points)),
        Line("rule_of_thumb_at_half", "Rule of thumb at half of the charge", _thumb(basis, points)),
        Line(
            "close_from",
            f"Always within {CLOSE * 100:g} % of the end, from a charge of",
            _close_from(basis, points),
        ),
        Line(
            "within_from",
            "Intervals that hold all that came later, from a charge of",
            _within_from(basis, points),
        ),
    ]
    table = Table("projection", COLUMNS, tuple(_row(each) for each in points))
    return Section(
        KEY, "Projected range at each checkpoint", tuple(lines), (table,) if points else (), _remarks(basis)
    )


def _row(each: Checkpoint) -> tuple[Cell, ...]:
    told = each.projected
    return (
        each.entry_id,
        number(each.at_s, 1),
        number(each.driven_km, 3),
        number(each.charge_pct, 1),
        number(told.value if told else None, 1),
        number(told.low if told else None, 1),
        number(told.high if told else None, 1),
        number(each.rule_of_thumb_km, 1),
        number(max(0.0, told.value - each.driven_km) if told else None, 1),
    )


def _nearest(points: tuple[Checkpoint, ...], charge_pct: float) -> Checkpoint | None:
    """Return the first checkpoint at or below a charge, if it is within 5 points of it."""
    found = next((each for each in points if each.charge_pct <= charge_pct), None)
    return found if found is not None and found.charge_pct >= charge_pct - 5.0 else None


def _at(basis: Basis, points: tuple[Checkpoint, ...], charge_pct: float) -> Answer:
    if not points:
        return Absent(basis.why_not_projected)
    here = _nearest(points, charge_pct)
    if here is None:
        return Absent(f"No charge was read off from {charge_pct:g} % down to {charge_pct - 5.0:g} %.")
    if here.projected is None:
        return Absent(basis.why_not_projected if basis.model is None else "Too little was used by then.")
    remark = f"Read off at {here.charge_pct:g} % after {here.driven_km:.1f} km."
    return here.projected.figure("km", projected_covers(basis), estimate=True, remark=remark)


def _last(basis: Basis, points: tuple[Checkpoint, ...]) -> Answer:
    told = [each for each in points if each.projected is not None]
    if not told or told[-1].projected is None:
        return Absent(basis.why_not_projected)
    return told[-1].projected.figure(
        "km", projected_covers(basis), estimate=True, remark=f"Read off at {told[-1].charge_pct:g} %."
    )


def _thumb(basis: Basis, points: tuple[Checkpoint, ...]) -> Answer:
    here = _nearest(points, 50.0)
    if here is None or here.rule_of_thumb_km is None:
        return Absent("No charge was read off near 50 %." if points else basis.why_not_projected)
    return Figure(
        here.rule_of_thumb_km,
        "km",
        remark="No interval: it knows nothing of rounding or of the rest of the way.",
    )


def _close_from(basis: Basis, points: tuple[Checkpoint, ...]) -> Answer:
    """Return from which charge on every projection was close to the end."""
    reach = basis.reach()
    if isinstance(reach, Absent):
        return Absent(reach.why)
    told = [(each.charge_pct, each.projected.value) for each in points if each.projected is not None]
    since: float | None = None
    for charge_pct, value in reversed(told):
        if abs(value / reach.value - 1.0) > CLOSE:
            break
        since = charge_pct
    if since is None:
        return Absent("No projection was that close.")
    against = "reached" if isinstance(basis.zero, Interval) else "projected at the last checkpoint"
    return Figure(since, "%", remark=f"Against the {reach.value:.1f} km {against}.")


def _within_from(basis: Basis, points: tuple[Checkpoint, ...]) -> Answer:
    """Return from which charge on all later projections, and the end, lay in that checkpoint's interval."""
    reach = basis.reach()
    if isinstance(reach, Absent):
        return Absent(reach.why)
    lowest = highest = reach.value
    since: float | None = None
    for each in reversed(points):
        if each.projected is None:
            break
        lowest, highest = min(lowest, each.projected.value), max(highest, each.projected.value)
        if not each.projected.low <= lowest <= highest <= each.projected.high:
            break
        since = each.charge_pct
    if since is None:
        return Absent("At no checkpoint did its interval hold all that came later.")
    return Figure(since, "%")


def _remarks(basis: Basis) -> tuple[str, ...]:
    if basis.model is None:
        return ()
    first = basis.marks[0].reading.value
    remarks = [
        "Each projection uses all charges read off until then, and is the distance from the beginning at which the display first shows 0 %."
    ]
    if first < 100.0:
        remarks.append(f"It is the distance on the {first:g} % at the start, not on 100 %.")
    if isinstance(basis.zero, Absent):
        remarks += _higher(basis)
    return tuple(remarks)


def _higher(basis: Basis) -> list[str]:
    """Say that the last charge was read off much higher or lower than the first: the model knows charges and distances only."""
    begun, last = (_altitude_m(basis, mark) for mark in (basis.marks[0], basis.marks[-1]))
    if begun is None or last is None or abs(last - begun) < TELLING_M:
        return []
    side, then = ("higher", "a descent gives back") if last > begun else ("lower", "a climb takes")
    apart_m = abs(round(last - begun, -1))
    return [
        f"The last charge was read off about {apart_m:.0f} m {side} than the first; the projections do not know what {then} from there."
    ]


def _altitude_m(basis: Basis, mark: Mark) -> float | None:
    """Return about how high the car was where a charge was read off; None where the receiver does not tell."""
    track = basis.seen.track
    if track is None or mark.reading.gps_km is None:
        return None
    at = int(np.searchsorted(track.distance_m, mark.reading.gps_km * 1000.0))
    around = track.altitude_m[max(0, at - _AROUND) : at + _AROUND]
    known = around[np.isfinite(around)]
    return float(np.median(known)) if len(known) else None
