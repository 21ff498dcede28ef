"""The readings of a whole drive, quantity by quantity -> what each of them was. Pure.

Distance joins the quantities: trip and odometer are settled first, by GPS where there was some; where there was none at
all they say how far the car went, and everything else goes along that. Each quantity is settled a few times over: by
what is assumed of its course, then by what the drive itself has taught.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from logger.core.beside_charge import BESIDE_CHARGE, Believed, odds_beside_charge
from logger.core.chain import Chain, Posterior
from logger.core.evidence import Surroundings
from logger.core.plausible.courses import ASSUMED, Course, TakenSteps, learn, learn_excess
from logger.core.plausible.odds import SPEED_SD_KMH, alone_odds, listed_odds
from logger.core.plausible.strand import Floats, Strand, steps_of
from logger.core.rules import Context, Facts, Mark, Observation, Outcome
from logger.core.rules.alone import clock_ahead_min, within_limits
from logger.core.rules.records import AT_THE_SAME_SPOT_KM

_NANO_PER_H = 3.6e12
_ROUNDS = 3
_BELIEVED = 0.8
"""A value at least that likely teaches the course."""
_BEYOND_LIMITS = {Outcome.PASS: 0.0, Outcome.DOUBT: math.log(0.05), Outcome.FAIL: math.log(0.001)}
_OTHER_COURSE = Course(span=1000.0, slope_sd=1.0, wander=10.0, jitter=10.0)
"""Of a quantity that a sheet may come to have and nobody has thought of."""
_ODOMETER_SLOPE_SD = 0.004
"""Trip and odometer count the same wheels."""

TRUSTED = 0.9
"""How likely a value must be for others to be judged beside it: else one that was misheard condemns them."""


class Knot(NamedTuple):
    """One reading in a strand: what it may be, the natural log of each one's weight, and of none of them."""

    at_ns: int
    observations: tuple[Observation, ...]
    log_weights: tuple[float, ...]
    log_none: float


@dataclass(frozen=True, slots=True)
class Woven:
    """A quantity's strand, settled."""

    knots: tuple[Knot, ...]
    strand: Strand
    course: Course
    posterior: Posterior

    def taken(self, index: int, least: float = 0.5) -> Observation | None:
        """Return the value that a reading most likely had, None if it is less likely than `least`."""
        option = int(self.posterior.likeliest[index])
        if self.posterior.options[index, option] < least:
            return None
        return self.knots[index].observations[option]

    def all_taken(self, least: float = 0.5) -> list[Observation | None]:
        """Return the same of every reading."""
        likeliest = self.posterior.likeliest
        sure = self.posterior.options[np.arange(len(likeliest)), likeliest] >= least
        return [
            knot.observations[option] if is_sure else None
            for knot, option, is_sure in zip(self.knots, likeliest.tolist(), sure.tolist(), strict=True)
        ]


def weave(
    knots: Mapping[str, Sequence[Knot]],
    facts: Facts,
    around: Surroundings,
    known: Mapping[str, Woven] | None = None,
) -> dict[str, Woven]:
    """Settle all strands, each in order of time.

    Args:
        knots: the readings by quantity; no sequence is empty.
        facts: what the whole drive says.
        around: where the car was. Without a track, it takes the way from what the trip meter or odometer says.
        known: what an earlier weaving of the same drive learned, to begin with.
    """
    woven: dict[str, Woven] = {}
    for quantity in sorted(knots, key=_order):
        assumed = ASSUMED.get(quantity, _OTHER_COURSE)
        if quantity == "odometer" and "trip" in woven:
            learned = woven["trip"].course
            assumed = replace(
                assumed, slope=learned.slope, slope_sd=max(learned.slope_sd, _ODOMETER_SLOPE_SD)
            )
        before = None if known is None else known.get(quantity)
        if before is not None and quantity != "clock" and before.knots == tuple(knots[quantity]):
            woven[quantity] = before
            continue
        loom = _Loom(quantity, knots[quantity], facts, around)
        woven[quantity] = loom.woven(assumed, None if before is None else before.course)
        if quantity in BESIDE_CHARGE and "charge" in woven:
            woven[quantity] = loom.woven_beside(woven["charge"], woven[quantity])
        if quantity in ("trip", "odometer") and not around.has_track:
            _go_by_dash(woven[quantity], around)
    return woven


def _order(quantity: str) -> tuple[int, str]:
    first = ("trip", "odometer")
    return (first.index(quantity) if quantity in first else len(first), quantity)


class _Loom:
    """One strand with all that does not depend on its course."""

    def __init__(self, quantity: str, knots: Sequence[Knot], facts: Facts, around: Surroundings) -> None:
        self._knots = tuple(knots)
        self._clock_ahead_min = facts.clock_ahead_min
        self._strand = strand_of(quantity, knots, facts, around)
        self._steps = steps_of(self._strand)
        self._within = _within_limits(self._strand, knots, facts)
        widths = np.array([len(knot.observations) for knot in knots], dtype=np.intp)
        self._chain = Chain(widths, self._steps.at)

    def woven(self, assumed: Course, learned: Course | None) -> Woven:
        """Return the strand settled by what was learned before, or by a few rounds of learning, and what it teaches."""
        woven = self._by(assumed if learned is None else learned)
        for _ in range(_ROUNDS - 1 if learned is None else 0):
            woven = self._by(_learned(assumed, woven))
        return replace(woven, course=_learned(assumed, woven))

    def woven_beside(self, charge: Woven, own: Woven) -> Woven:
        """Return the strand settled once more, with what charge and distance make of it."""
        strand = self._strand
        beside = odds_beside_charge(
            strand.quantity, strand.km, strand.base, _believed_along(own), _believed_along(charge)
        )
        return self._by(own.course, beside) if beside.any() else own

    def _by(self, course: Course, beside: Floats | float = 0.0) -> Woven:
        strand = self._strand
        alone = alone_odds(strand, course, clock_ahead_min=self._clock_ahead_min)
        odds = listed_odds(strand.quantity, self._steps, course)
        weight = strand.log_weight + alone + self._within + beside
        return Woven(self._knots, strand, course, self._chain.posterior(weight, strand.log_none, *odds))


def _within_limits(strand: Strand, knots: Sequence[Knot], facts: Facts) -> Floats:
    """Return the log odds of each value by the sheet's limits, shape (n, m)."""
    odds = np.zeros_like(strand.base)
    quantity = facts.quantities.get(strand.quantity)
    if quantity is None or (quantity.lowest_plausible is None and quantity.highest_plausible is None):
        return odds
    context = Context(facts)
    known: dict[tuple[Decimal, str], float] = {}
    for row, knot in enumerate(knots):
        for column, observed in enumerate(knot.observations):
            told = observed.value, observed.unit
            beyond = known.get(told)
            if beyond is None:
                beyond = known[told] = _BEYOND_LIMITS[within_limits(observed, context).outcome]
            if beyond:
                odds[row, column] = beyond
    return odds


def strand_of(quantity: str, knots: Sequence[Knot], facts: Facts, around: Surroundings) -> Strand:
    """Return the readings of a quantity, in order of time, as arrays."""
    strand = in_any_order(quantity, knots, facts, around)
    return replace(strand, km=np.maximum.accumulate(strand.km))


def in_any_order(quantity: str, knots: Sequence[Knot], facts: Facts, around: Surroundings) -> Strand:
    """Return readings of a quantity as arrays, each by itself: also the way, which is then as the track has it."""
    observed = [each for knot in knots for each in knot.observations]
    there = np.array([len(knot.observations) for knot in knots])
    at = np.nonzero(np.arange(there.max()) < there[:, None])
    said = np.array([each.base for each in observed])
    finite = np.isfinite(said)

    def wide(values: Sequence[float] | Floats, otherwise: float) -> Floats:
        """Lay values of options out, those that are no number left out."""
        laid = np.full((len(knots), int(there.max())), otherwise)
        laid[at] = np.where(finite, values, otherwise)
        return laid

    at_ns = np.array([knot.at_ns for knot in knots], dtype=np.int64)
    moments = [around.at(knot.at_ns) for knot in knots]
    km = np.array([around.way_km(knot.at_ns) for knot in knots])
    nowhere = np.full(len(knots), np.nan)
    resets = facts.marks.get("trip reset", ())
    before = _count_until(resets, at_ns)
    reset_km = np.array([math.nan, *(around.way_km(mark.at_ns) for mark in resets)])
    return Strand(
        quantity=quantity,
        at_h=at_ns / _NANO_PER_H,
        base=wide(said, np.nan),
        half_step=wide([each.half_step for each in observed], np.nan),
        places=wide(np.minimum(3, [each.places for each in observed]), np.nan),
        log_weight=wide([weight for knot in knots for weight in knot.log_weights], -np.inf),
        log_none=np.array([knot.log_none for knot in knots]),
        km=km,
        unseen_h=np.array([moment.unseen_s for moment in moments]) / 3600.0,
        gps_kmh=np.array([moment.gps_kmh for moment in moments]),
        pace_kmh=np.array([around.pace_kmh(knot.at_ns) for knot in knots])
        if quantity == "indicated_speed"
        else nowhere,
        charged=(
            _count_until(facts.marks.get("charging", ()), at_ns)
            + _count_until(facts.marks.get("unplugged", ()), at_ns)
        ).astype(np.float64),
        at_charger=_at_charger(at_ns, km, facts, around),
        resets=before.astype(np.float64),
        reset_km=reset_km[before],
        ahead_min=wide([clock_ahead_min(each) for each in observed], np.nan)
        if quantity == "clock"
        else np.full((len(knots), int(there.max())), np.nan),
    )


def _count_until(marks: Sequence[Mark], at_ns: NDArray[np.int64]) -> NDArray[np.intp]:
    """Return how many marks there were until each time."""
    return np.searchsorted(np.array([mark.at_ns for mark in marks], dtype=np.int64), at_ns, side="right")


def _at_charger(
    at_ns: NDArray[np.int64], km: Floats, facts: Facts, around: Surroundings
) -> NDArray[np.bool_]:
    """Whether charging had been noted and the car had not gone on since."""
    marks = facts.marks.get("charging", ())
    noted_km = np.array([math.nan, *(around.way_km(mark.at_ns) for mark in marks)])
    with np.errstate(invalid="ignore"):
        return np.asarray(km - noted_km[_count_until(marks, at_ns)] < AT_THE_SAME_SPOT_KM)


def _learned(assumed: Course, woven: Woven) -> Course:
    strand = woven.strand
    if strand.quantity == "indicated_speed":
        believed, values, _ = _believed(woven)
        gps = strand.gps_kmh[believed]
        there = np.isfinite(gps)
        return learn_excess(assumed, values[there], gps[there], SPEED_SD_KMH)
    if strand.quantity == "clock":
        return assumed
    return learn(assumed, _taken_steps(woven, assumed))


def _believed(woven: Woven) -> tuple[NDArray[np.intp], Floats, Floats]:
    """Return which readings are believed, and their values and half steps."""
    best = woven.posterior.likeliest
    rows = np.arange(len(best))
    believed = np.flatnonzero(woven.posterior.options[rows, best] >= _BELIEVED)
    return (
        believed,
        woven.strand.base[believed, best[believed]],
        woven.strand.half_step[believed, best[believed]],
    )


def _believed_along(woven: Woven) -> Believed:
    at, values, _ = _believed(woven)
    return Believed(woven.strand.km[at], values)


def _taken_steps(woven: Woven, course: Course) -> TakenSteps:
    """Return the steps between readings that are believed, but those that a note or a gap of the track makes unusual."""
    strand = woven.strand
    at, values, half = _believed(woven)
    if course.in_logs:
        positive = values > 0.0
        at, values, half = at[positive], values[positive], half[positive]
        half = half / values
        values = np.log(values)
    change = np.diff(values)
    along = np.diff(strand.at_h[at]) if course.by_time else np.diff(strand.km[at])
    usual = (
        (np.diff(strand.charged[at]) == 0)
        & ~strand.at_charger[at[:-1]]
        & (np.diff(strand.resets[at]) == 0)
        & (np.diff(strand.unseen_h[at]) < 0.01 + 10.0 * course.by_time)
    )
    rounding = (half[1:] ** 2 + half[:-1] ** 2) / 3.0
    return TakenSteps(change[usual], along[usual], rounding[usual])


def _go_by_dash(woven: Woven, around: Surroundings) -> None:
    """Let a drive without a track go by what its trip meter or odometer says; a fall is a reset."""
    at, values, _ = _believed(woven)
    if len(at) < 2:
        return
    change = np.diff(values)
    gone = np.concatenate(([0.0], np.cumsum(np.where(change >= 0.0, change, values[1:]))))
    later = np.concatenate(([True], np.diff(woven.strand.at_h[at]) > 0.0))
    around.go_by([woven.knots[index].at_ns for index in at[later]], [float(km) for km in gone[later]])
