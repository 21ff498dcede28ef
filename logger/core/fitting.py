"""How well a value would fit a settled drive, where a call may have been of another make-up. Pure."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence

import numpy as np

from grammar import Reading
from logger.core.candidates import Call
from logger.core.evidence import Surroundings
from logger.core.placing import length_ns
from logger.core.plausible.odds import alone_odds, step_odds
from logger.core.plausible.strand import steps_of
from logger.core.rules import Facts, Observation
from logger.core.strands import Knot, Woven, strand_of

_TRUSTED = 0.9


class Fitting:
    """What an earlier weaving of the drive says of the readings that may have been made within one call.

    Args:
        call: the call, with all it may mean. Its own readings in the weaving have no say.
        woven: the drive's strands.
    """

    def __init__(self, call: Call, woven: Mapping[str, Woven], facts: Facts, around: Surroundings) -> None:
        self._call, self._facts, self._around = call, facts, around
        by_quantity: dict[str, list[Reading]] = {}
        for candidate in call.found:
            for part in candidate.meaning.readings:
                here = by_quantity.setdefault(part.quantity, [])
                if part not in here:
                    here.append(part)
        self._fits: dict[Reading, float] = {}
        for quantity, readings in by_quantity.items():
            known = woven.get(quantity)
            self._fits.update(
                dict.fromkeys(readings, 0.0) if known is None else self._worked_out(readings, known)
            )

    def fit(self, reading: Reading) -> float:
        """Return the natural log of how much likelier the drive makes a reading than one out of the blue."""
        return self._fits[reading]

    def _worked_out(self, readings: Sequence[Reading], woven: Woven) -> dict[Reading, float]:
        """Return the fits of readings of one quantity.

        By the step from the trusted reading before the call and the step to the one after it, less the step between
        those two.
        """
        observed = tuple(
            self._around.observe(each.quantity, each.value, each.unit, self._call.at_ns) for each in readings
        )
        before, after = self._trusted_around(woven)
        knots = [
            Knot(each[0].at_ns, each, (0.0,) * len(each), 0.0)
            for each in (_only(before), observed, _only(after))
            if each
        ]
        own = 0 if before is None else 1
        strand = strand_of(woven.strand.quantity, knots, self._facts, self._around)
        fits = alone_odds(strand, woven.course, clock_ahead_min=self._facts.clock_ahead_min)[own]
        odds = step_odds(woven.strand.quantity, steps_of(strand), woven.course)
        step = np.logaddexp(odds.usual, odds.surprise)
        if before is not None:
            fits = fits + step[own, 0, 0, :]
        if after is not None:
            fits = fits + step[own + 1, 0, :, 0]
        if before is not None and after is not None:
            fits = fits - step[2, 1, 0, 0]
        return {
            each: float(fit) if math.isfinite(seen.base) else -math.inf
            for each, seen, fit in zip(readings, observed, fits, strict=False)
        }

    def _trusted_around(self, woven: Woven) -> tuple[Observation | None, Observation | None]:
        begin = self._call.utterance.start_ns
        end = begin + length_ns(self._call.utterance)
        first = bisect_left(woven.knots, begin, key=lambda knot: knot.at_ns)
        behind = bisect_right(woven.knots, end, key=lambda knot: knot.at_ns)
        before = (woven.taken(index, _TRUSTED) for index in range(first - 1, -1, -1))
        after = (woven.taken(index, _TRUSTED) for index in range(behind, len(woven.knots)))
        return (
            next((each for each in before if each is not None), None),
            next((each for each in after if each is not None), None),
        )


def _only(observed: Observation | None) -> tuple[Observation, ...]:
    return () if observed is None else (observed,)
