"""How well a value would fit a settled drive, where a call may have been of another make-up. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from grammar import Reading
from logger.core.candidates import Call
from logger.core.evidence import Surroundings
from logger.core.neighbours import TrustedReadings
from logger.core.placing import length_ns
from logger.core.plausible.odds import alone_odds, step_odds
from logger.core.plausible.strand import Floats, Strand, steps_between
from logger.core.rules import Facts, Observation
from logger.core.strands import Knot, Woven, in_any_order

Fits = Mapping[Reading, float]
"""The natural log of how much likelier the drive makes each reading than one out of the blue."""


def fits(
    calls: Sequence[Call], woven: Mapping[str, Woven], facts: Facts, around: Surroundings
) -> Sequence[Fits]:
    """Return what an earlier weaving of the drive says of the readings that may have been made within each of some calls.

    By the step from the trusted reading before the call and the step to the one after it, less the step between those
    two. A call's own readings in the weaving have no say.

    Args:
        calls: the calls, each with all it may mean.
        woven: the drive's strands.
        facts: what the whole drive says.
        around: the track.
    """
    found: list[dict[Reading, float]] = [{} for _ in calls]
    asked: dict[str, list[_Asked]] = {}
    for number, call in enumerate(calls):
        for quantity, readings in _by_quantity(call).items():
            if quantity in woven:
                asked.setdefault(quantity, []).append(_Asked(number, call, tuple(readings)))
            else:
                found[number].update(dict.fromkeys(readings, 0.0))
    for quantity, each in asked.items():
        _fit(each, woven[quantity], facts, around, found)
    return found


@dataclass(frozen=True, slots=True)
class _Asked:
    """The readings of one quantity that a call may have."""

    number: int
    call: Call
    readings: tuple[Reading, ...]


def _by_quantity(call: Call) -> dict[str, list[Reading]]:
    """Return each reading that a call may have once."""
    found: dict[str, list[Reading]] = {}
    seen: set[int] = set()
    for candidate in call.found:
        for number, part in zip(candidate.told, candidate.meaning.parts, strict=True):
            if number not in seen and isinstance(part, Reading):
                seen.add(number)
                found.setdefault(part.quantity, []).append(part)
    return found


def _fit(
    asked: Sequence[_Asked],
    woven: Woven,
    facts: Facts,
    around: Surroundings,
    found: Sequence[dict[Reading, float]],
) -> None:
    """Work the fits of one quantity out, of all calls at once, and add them to what is found."""
    trusted = TrustedReadings(woven)
    knots: list[Knot] = []
    together: list[int] = []
    rows: list[tuple[int, int, int]] = []  # of the reading before, the call's own, the one after; -1 for none
    for number, each in enumerate(asked):
        observed = around.observe_all(each.readings, each.call.at_ns)
        begin_ns = each.call.utterance.start_ns
        before, after = trusted.around(begin_ns, begin_ns + length_ns(each.call.utterance))
        begin = len(knots)
        row = [-1, -1, -1]
        for place, values in enumerate((_only(before), observed, _only(after))):
            if values:
                row[place] = len(knots)
                knots.append(Knot(values[0].at_ns, values, (0.0,) * len(values), 0.0))
        together += [number] * (len(knots) - begin)
        rows.append((row[0], row[1], row[2]))
    strand = in_any_order(woven.strand.quantity, knots, facts, around)
    before_at, own_at, after_at = np.array(rows, dtype=np.intp).T
    for earlier, later in ((before_at, own_at), (own_at, after_at), (before_at, after_at)):
        both = (earlier >= 0) & (later >= 0)
        strand.km[later[both]] = np.maximum(strand.km[earlier[both]], strand.km[later[both]])
    alone = alone_odds(
        strand,
        woven.course,
        clock_ahead_min=facts.clock_ahead_min,
        together=np.array(together, dtype=np.intp),
    )[own_at]
    there = before_at >= 0
    alone[there] += _step(strand, woven, before_at[there], own_at[there])[:, 0, :]
    there = after_at >= 0
    alone[there] += _step(strand, woven, own_at[there], after_at[there])[:, :, 0]
    there = (before_at >= 0) & (after_at >= 0)
    alone[there] -= _step(strand, woven, before_at[there], after_at[there])[:, :1, 0]
    for each, own, fit in zip(asked, own_at.tolist(), alone.tolist(), strict=True):
        for reading, seen, value in zip(each.readings, knots[own].observations, fit, strict=False):
            found[each.number][reading] = value if math.isfinite(seen.base) else -math.inf


def _step(strand: Strand, woven: Woven, earlier: NDArray[np.intp], later: NDArray[np.intp]) -> Floats:
    """Return the log odds of steps between pairs of readings, shape (p, m, m)."""
    odds = step_odds(strand.quantity, steps_between(strand, earlier, later), woven.course)
    return np.logaddexp(odds.usual, odds.surprise)


def _only(observed: Observation | None) -> tuple[Observation, ...]:
    return () if observed is None else (observed,)
