"""One reading and its place in the settled chain -> its entry: accepted, or flagged with what else it may be and why. Pure.

A value is accepted when the rules pass it beside the trusted readings around it and every other state of its slot
makes a course of the drive that is worse by `MARGIN`. The recogniser's first answer is replaced by another one only
when the rules *fail* it, it lies between trusted readings (so that what came later does not bear it out) or cannot
be by itself, and the other answer is accepted by the same measure. Everything else is flagged, with the value as heard.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from grammar import Reading
from logger.core.candidates import Option
from logger.core.chain import ChainSlot, Link, none_log_weight
from logger.core.evidence import Surroundings, same_quantity
from logger.core.rules import Context, Facts, Observation, Outcome, judge
from logger.core.said import SpokenReading, clock_text
from logger.model import Alternative, Entry, Origin, Status

MARGIN = 3.0
"""How much better (natural log) the accepted state's course must be: at least 20 times as likely as any other."""

MOST_OPTIONS = 6
LEAST_WEIGHT = 0.001
"""Options of a slot that take part, and how likely they must be; the rest counts as none of them."""

_SMALLEST = 1e-12


@dataclass(frozen=True, slots=True)
class Reader:
    """A reading made ready for the chain: its options of the right quantity beside what each would be."""

    spoken: SpokenReading
    options: tuple[Option, ...]
    observations: tuple[Observation, ...]

    @property
    def other_weight(self) -> float:
        """The weight of everything that is none of the options."""
        return max(0.0, 1.0 - sum(option.weight for option in self.options))

    def chain_slot(self) -> ChainSlot:
        """Return what takes part in the chain."""
        return ChainSlot(
            self.observations,
            tuple(math.log(max(option.weight, _SMALLEST)) for option in self.options),
            none_log_weight(self.other_weight),
        )


def make_reader(spoken: SpokenReading, around: Surroundings) -> Reader:
    """Make a reading ready for the chain; what its first answer means always takes part."""
    pairs = same_quantity(spoken)
    pairs.sort(key=lambda pair: not pair[0].first)  # stable: likeliest first among equals
    pairs = [pair for pair in pairs if pair[0].first or pair[0].weight >= LEAST_WEIGHT][:MOST_OPTIONS]
    return Reader(
        spoken,
        tuple(option for option, _ in pairs),
        tuple(
            around.observe(reading.quantity, reading.value, reading.unit, spoken.at_ns)
            for _, reading in pairs
        ),
    )


def settle(
    reader: Reader, link: Link, facts: Facts, rivals: Sequence[Observation] = (), doubt: str = ""
) -> Entry:
    """Return a reading's entry.

    Args:
        reader: what it may be.
        link: its place in the chain.
        facts: the drive.
        rivals: values of other readings of the quantity that were heard but left out of the best course.
        doubt: what the driver's own words say against it.
    """
    return _Settler(reader, link, facts).entry(rivals, doubt)


def rejected(reader: Reader, reason: str) -> Entry:
    """Return the entry of a reading that no longer stands."""
    option = reader.options[0]
    return _entry(reader, 0, Status.REJECTED, option.weight, reason, origin=_origin(reader, 0))


class _Settler:
    def __init__(self, reader: Reader, link: Link, facts: Facts) -> None:
        self._reader = reader
        self._link = link
        self._facts = facts
        self._context = Context(facts, link.before, link.after if link.after_counts else None)
        self._shares = _shares((*link.through, link.none))
        firsts = [index for index, option in enumerate(reader.options) if option.first]
        self._heard = max(firsts, key=lambda index: link.through[index])

    def entry(self, rivals: Sequence[Observation], doubt: str) -> Entry:
        heard, taken = self._heard, self._link.taken
        verdict = judge(self._reader.observations[heard], self._context)
        if doubt:
            return self._flagged(doubt)
        if verdict.outcome is Outcome.PASS and self._margin(heard) >= MARGIN:
            return self._accepted(heard, "")
        if (
            taken is not None
            and taken != heard
            and verdict.outcome is Outcome.FAIL
            and self._repairable(taken)
        ):
            said = self._reader.options[heard].heard
            return self._accepted(taken, f"heard first as '{said}', but {verdict.message}")
        if verdict.outcome is not Outcome.PASS:
            return self._flagged(verdict.message + self._suggestion())
        return self._flagged(self._undecided(rivals))

    def _repairable(self, other: int) -> bool:
        alone = judge(self._reader.observations[self._heard], Context(self._facts))
        between = self._context.before is not None and self._context.after is not None
        return (
            (between or alone.outcome is Outcome.FAIL)
            and self._passes(other)
            and self._margin(other) >= MARGIN
        )

    def _margin(self, index: int) -> float:
        others = [score for number, score in enumerate(self._link.through) if number != index]
        return self._link.through[index] - max(*others, self._link.none, -math.inf)

    def _passes(self, index: int) -> bool:
        return judge(self._reader.observations[index], self._context).outcome is Outcome.PASS

    def _suggestion(self) -> str:
        """Name the likeliest other answer that the rules pass."""
        for index in self._ranked():
            if index != self._heard and self._passes(index):
                observed = self._reader.observations[index]
                return f"; '{self._reader.options[index].heard}' ({observed.text}) sounds alike and fits"
        return ""

    def _undecided(self, rivals: Sequence[Observation]) -> str:
        """Say why a value that passes the rules is not certain."""
        link, heard = self._link, self._heard
        worst = max(
            (i for i in range(len(link.through)) if i != heard), key=lambda i: link.through[i], default=None
        )
        if worst is not None and link.through[worst] >= link.none:
            observed = self._reader.observations[worst]
            return f"'{self._reader.options[worst].heard}' ({observed.text}) sounds alike and fits as well"
        own = self._reader.observations[heard]
        for rival in sorted(rivals, key=lambda each: abs(each.at_ns - own.at_ns)):
            context = (
                Context(self._facts, rival) if rival.at_ns < own.at_ns else Context(self._facts, None, rival)
            )
            if judge(own, context).outcome is not Outcome.PASS:
                return f"{own.text} and {rival.text} at {clock_text(rival.at_ns)} cannot both be right, and nothing else decides"
        foreign = [
            option
            for option in self._reader.spoken.slot.options
            if option not in self._reader.options and option.heard
        ]
        if foreign:
            return f"it may have been '{foreign[0].heard}' instead"
        return f"the recogniser was sure of these words by {self._reader.options[heard].weight:.0%} only"

    def _ranked(self) -> list[int]:
        return sorted(range(len(self._shares) - 1), key=lambda index: -self._shares[index])

    def _accepted(self, index: int, reason: str) -> Entry:
        replaces = self._reader.spoken.replaces
        if replaces:
            said = f"said at {clock_text(self._reader.spoken.slot.at_ns)} to replace {replaces}"
            reason = f"{said}; {reason}" if reason else said
        status = Status.CORRECTED if replaces else Status.ACCEPTED
        origin = _origin(self._reader, index)
        return self._with_alternatives(index, status, reason, origin)

    def _flagged(self, reason: str) -> Entry:
        return self._with_alternatives(
            self._heard, Status.FLAGGED, reason, _origin(self._reader, self._heard)
        )

    def _with_alternatives(self, index: int, status: Status, reason: str, origin: Origin) -> Entry:
        others = [
            Alternative(
                self._reader.observations[other].value,
                self._reader.observations[other].unit,
                self._reader.options[other].heard,
                round(self._shares[other], 4),
            )
            for other in self._ranked()
            if other != index
        ]
        others += self._foreign()
        others.sort(key=lambda each: -each.confidence)
        return _entry(
            self._reader,
            index,
            status,
            self._shares[index],
            reason,
            origin=origin,
            alternatives=tuple(others),
        )

    def _foreign(self) -> list[Alternative]:
        """What the slot may be of another quantity; such options share what is left for none of the others."""
        rest = self._reader.other_weight
        return [
            Alternative(
                option.part.value,
                option.part.unit,
                option.heard,
                round(self._shares[-1] * option.weight / rest, 4),
            )
            for option in self._reader.spoken.slot.options
            if option not in self._reader.options and isinstance(option.part, Reading) and rest > _SMALLEST
        ]


def _shares(scores: Sequence[float]) -> list[float]:
    highest = max(scores)
    weights = [math.exp(score - highest) for score in scores]
    total = sum(weights)
    return [weight / total for weight in weights]


def _origin(reader: Reader, index: int) -> Origin:
    frame = reader.spoken.slot.frame
    if isinstance(frame, Reading) and frame.correction:
        return Origin.SPOKEN_CORRECTION
    return Origin.HEARD if reader.options[index].first else Origin.REPAIRED


def _entry(
    reader: Reader,
    index: int,
    status: Status,
    confidence: float,
    reason: str,
    *,
    origin: Origin,
    alternatives: tuple[Alternative, ...] = (),
) -> Entry:
    observed = reader.observations[index]
    slot = reader.spoken.slot
    return Entry(
        id=slot.id,
        utterance_id=slot.utterance_id,
        at_ns=reader.spoken.at_ns,
        quantity=observed.quantity,
        value=observed.value,
        unit=observed.unit,
        status=status,
        confidence=round(confidence, 4),
        origin=origin,
        heard=reader.options[index].heard,
        note="",
        reason=reason,
        alternatives=alternatives,
    )
