"""How honest the dash's own estimate was: range left as shown, with what was driven, against what was reached. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logger.core.results.basis import Basis
from logger.core.results.cells import measure, number, text
from logger.core.results.figures import Absent, Answer, Figure, Line, Section
from logger.core.results.observed import Reading
from logger.core.results.spread import Interval, line_through, t95
from logger.core.table import Cell, Table

KEY = "predicted"
EARLY = 0.1
"""A promise made after this share of the way is not one at the start."""
TELLING_PCT = 2.0
"""A change of less than so many percent over the drive is called steady."""
COLUMNS = (
    text("entry_id", "The predicted range that the row is about."),
    measure("at_s", "s", "When it was said, since the drive began."),
    measure("driven_km", "km", "Distance from where the stretch that counts begins."),
    measure("left_km", "km", "The range left as shown."),
    measure("in_all_km", "km", "Driven plus left."),
    measure("off_km", "km", "That less what was reached, or is projected; above 0 the dash promised too much.", "neither is known"),
    measure("off_pct", "%", "The same as a share of what was reached, or is projected.", "neither is known"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Promise:
    """A range left that was read off, and how far along."""

    reading: Reading
    driven_km: float

    @property
    def in_all_km(self) -> float:
        """What the dash promised in all."""
        return self.driven_km + self.reading.value


def promises(basis: Basis) -> tuple[Promise, ...]:
    """Return the ranges left that were read off where the distance is known, before 0 % was shown."""
    zero = basis.zero_mark
    ends_s = basis.marks[zero].reading.at_s if zero is not None else float("inf")
    found = []
    for each in basis.seen.of("range_left"):
        if not basis.stretch.holds(each.at_s) or each.at_s > ends_s:
            continue
        km = basis.km_of(each)
        if km is not None:
            found.append(Promise(each, km))
    return tuple(found)


def section(basis: Basis) -> Section:
    """Return how honest the estimate was."""
    made = promises(basis)
    reach = basis.reach()
    start, mean, worst, trend = _figures(basis, made, reach)
    lines = (
        Line("at_start", "Promised in all at the start", _at_start(basis, made)),
        Line("off_at_start", "Too much at the start", start),
        Line("off_mean", "Too much, mean over the drive", mean),
        Line("off_worst", "Too much, the reading furthest off", worst),
        Line("trend", "Change of what was promised in all over 100 km", trend),
        Line("against_rating", "Rated range against what was reached", _against_rating(basis)),
    )
    rows = tuple(_row(each, reach) for each in made)
    table = (Table("predicted", COLUMNS, rows),) if rows else ()
    return Section(
        KEY, "The dash's estimate of the range left", lines, table, _remarks(basis, made, trend, start)
    )


def _row(each: Promise, reach: Interval | Absent) -> tuple[Cell, ...]:
    off = each.in_all_km - reach.value if isinstance(reach, Interval) else None
    share = (
        off / reach.value * 100.0
        if off is not None and isinstance(reach, Interval) and reach.value > 0.0
        else None
    )
    return (
        each.reading.entry_id,
        number(each.reading.at_s, 1),
        number(each.driven_km, 3),
        number(each.reading.value, 1),
        number(each.in_all_km, 1),
        number(off, 1),
        number(share, 1),
    )


def _why(basis: Basis) -> str:
    if not basis.seen.of("range_left"):
        return "The predicted range was not read off; call out 'range' or 'left' with the charge."
    return "The predicted range was read off only where the distance driven is not known."


def _at_start(basis: Basis, made: tuple[Promise, ...]) -> Answer:
    if not made:
        return Absent(_why(basis))
    first = made[0]
    reach = basis.reach()
    if isinstance(reach, Interval) and first.driven_km > EARLY * reach.value:
        return Absent(
            f"The predicted range was first read off after {first.driven_km:.1f} km, not at the start."
        )
    return Figure(first.in_all_km, "km", remark=f"Read off after {first.driven_km:.1f} km.")


def _figures(
    basis: Basis, made: tuple[Promise, ...], reach: Interval | Absent
) -> tuple[Answer, Answer, Answer, Answer]:
    if not made:
        none = Absent(_why(basis))
        return none, none, none, none
    driven = np.array([each.driven_km for each in made])
    in_all = np.array([each.in_all_km for each in made])
    line = line_through(driven, in_all)
    trend: Answer = Absent("The predicted range was read off fewer than three times.")
    if line is not None:
        half = t95(line.freedom) * line.slope_sd * 100.0
        trend = Figure(
            line.slope * 100.0,
            "km",
            line.slope * 100.0 - half,
            line.slope * 100.0 + half,
            "the scatter of the readings about a line",
        )
    if isinstance(reach, Absent) or not reach.value > 0.0:
        none = Absent(reach.why if isinstance(reach, Absent) else "No distance was driven.")
        return none, none, none, trend
    off = (in_all / reach.value - 1.0) * 100.0
    half_pct = (reach.high - reach.low) / 2.0 / reach.value * 100.0
    covers = "what was reached, or is projected; not the dash's last digit"
    estimate = isinstance(basis.zero, Absent)

    def told(value: float, remark: str = "") -> Figure:
        return Figure(value, "%", value - half_pct, value + half_pct, covers, estimate, remark)

    start: Answer = told(float(off[0]))
    if driven[0] > EARLY * reach.value:
        start = Absent(f"The predicted range was first read off after {driven[0]:.1f} km, not at the start.")
    furthest = int(np.argmax(np.abs(off)))
    remark = f"After {driven[furthest]:.1f} km, with {made[furthest].reading.value:.0f} km left as shown."
    return start, told(float(np.mean(off))), told(float(off[furthest]), remark), trend


def _against_rating(basis: Basis) -> Answer:
    rated = basis.told.get("rated_range")
    reach = basis.reach()
    if rated is None:
        return Absent(
            "The sheet does not tell the rated range; write rated_range_km or rated_range_mi under [test]."
        )
    if isinstance(reach, Absent):
        return reach
    if not basis.stretch.begins_full:
        return Absent("The drive did not begin at 100 %.")
    ends = reach.times(100.0 / rated).plus(-100.0)
    return ends.figure("%", "what was reached, or is projected", estimate=isinstance(basis.zero, Absent))


def _remarks(basis: Basis, made: tuple[Promise, ...], trend: Answer, start: Answer) -> tuple[str, ...]:
    remarks = []
    if isinstance(start, Figure):
        against = "was reached" if isinstance(basis.zero, Interval) else "is projected"
        if start.low is not None and start.high is not None and start.low <= 0.0 <= start.high:
            remarks.append(f"At the start the dash promised about what {against}.")
        else:
            side = "more" if start.value > 0.0 else "less"
            remarks.append(f"At the start the dash promised {abs(start.value):.0f} % {side} than {against}.")
    if isinstance(trend, Figure) and made:
        change = trend.value / 100.0 * (made[-1].driven_km - made[0].driven_km)
        share = change / made[0].in_all_km * 100.0 if made[0].in_all_km > 0.0 else 0.0
        clear = trend.low is not None and trend.high is not None and not trend.low <= 0.0 <= trend.high
        if abs(share) < TELLING_PCT:
            remarks.append("What it promised in all stayed about the same over the drive.")
        elif clear:
            way = "fell" if share < 0.0 else "rose"
            remarks.append(f"What it promised in all {way} by {abs(share):.0f} % over the drive.")
        else:
            remarks.append("What it promised in all shows no clear trend over the drive.")
    return tuple(remarks)
