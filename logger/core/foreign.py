"""What a doubtful reading may have been of another quantity: how well that fits the drive. Pure."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import replace

from grammar import Reading
from logger.core.evidence import Surroundings
from logger.core.readers import Reader
from logger.core.rules import Context, Facts, Observation, Outcome, judge
from logger.core.strands import TRUSTED, Woven

_FITS = {Outcome.PASS: 1.0, Outcome.DOUBT: 0.1, Outcome.FAIL: 0.001}


class Foreign:
    """Judges readings beside the trusted ones of whatever quantity.

    Args:
        woven: the drive's strands.
        facts: what the whole drive says.
        around: the track.
    """

    def __init__(self, woven: Mapping[str, Woven], facts: Facts, around: Surroundings) -> None:
        self._woven, self._facts, self._around = woven, facts, around
        self._trusted: dict[str, list[Observation]] = {}

    def judged(self, reader: Reader) -> Reader:
        """Return a reading with how well each of its other quantities fits."""
        return replace(
            reader, foreign_fits=tuple([self._fit(option.part, reader) for option in reader.foreign])
        )

    def _fit(self, part: object, reader: Reader) -> float:
        if not isinstance(part, Reading):
            return 1.0
        observed = self._around.observe(part.quantity, part.value, part.unit, reader.spoken.at_ns)
        return _FITS[judge(observed, self._context(observed)).outcome]

    def _context(self, observed: Observation) -> Context:
        """Return the trusted readings of its quantity before and after, those of the same moment left out."""
        trusted = self._trusted.get(observed.quantity)
        if trusted is None:
            woven = self._woven.get(observed.quantity)
            taken = [] if woven is None else woven.all_taken(TRUSTED)
            trusted = self._trusted[observed.quantity] = [each for each in taken if each is not None]
        before = bisect_left(trusted, observed.at_ns, key=lambda each: each.at_ns) - 1
        after = bisect_right(trusted, observed.at_ns, key=lambda each: each.at_ns)
        return Context(
            self._facts,
            trusted[before] if before >= 0 else None,
            trusted[after] if after < len(trusted) else None,
        )
