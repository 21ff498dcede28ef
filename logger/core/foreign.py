"""What a doubtful reading may have been of another quantity: how well that fits the drive. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from grammar import Reading
from logger.core.evidence import Surroundings
from logger.core.neighbours import TrustedReadings
from logger.core.readers import Reader
from logger.core.rules import Context, Facts, Outcome, judge
from logger.core.strands import Woven

_FITS = {Outcome.PASS: 1.0, Outcome.DOUBT: 0.1, Outcome.FAIL: 0.001}


class Foreign:
    """Judges readings beside the trusted ones of whatever quantity.

    Args:
        woven: the drive's strands.
        facts: what the whole drive says.
        around: the track.
    """

    def __init__(self, woven: Mapping[str, Woven], facts: Facts, around: Surroundings) -> None:
        self._facts, self._around = facts, around
        self._trusted = {quantity: TrustedReadings(each) for quantity, each in woven.items()}

    def judged(self, reader: Reader) -> Reader:
        """Return a reading with how well each of its other quantities fits."""
        return replace(
            reader, foreign_fits=tuple([self._fit(option.part, reader) for option in reader.foreign])
        )

    def _fit(self, part: object, reader: Reader) -> float:
        if not isinstance(part, Reading):
            return 1.0
        at_ns = reader.spoken.at_ns
        observed = self._around.observe(part.quantity, part.value, part.unit, at_ns)
        trusted = self._trusted.get(part.quantity)
        beside = (None, None) if trusted is None else trusted.around(at_ns, at_ns)
        return _FITS[judge(observed, Context(self._facts, *beside)).outcome]
