"""One reading and its place in the settled strand -> its entry: accepted, or flagged with what else it may be and why. Pure.

The likeliest value is accepted when it is at least `ACCEPTED` likely, no surprise led to it, none comes right after it that
may as well have come before, and the rules, which a person can follow, pass it beside the trusted readings around it. If it is not what the recogniser said first, it must also
lie between trusted readings, so that what came later does not bear the first answer out, or the first answer must be
impossible by itself. Everything else is flagged, with the value as heard.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import attrgetter
from typing import NamedTuple

from grammar import Reading
from logger.core.expecting import expected, expected_text
from logger.core.left_out import probabilities
from logger.core.neighbours import Place
from logger.core.readers import Reader
from logger.core.rules import Context, Facts, Outcome, judge
from logger.core.said import clock_text
from logger.model import Alternative, Entry, Origin, Status

ACCEPTED = 0.99
"""How likely a value must be to be accepted without asking."""

SURPRISING = 0.5
"""A value that was reached by a surprise with at least this probability is asked about."""

_FITS_AS_WELL = 0.005
_TELLING = 0.001
"""A guess, or a suggestion in words, less likely than that is not worth telling."""


class Standing(NamedTuple):
    """What is judged of a reading, and beside what.

    Attributes:
        heard: its option that was heard first; of several the likeliest.
        best: its likeliest option.
        context: the trusted readings around it. Where the step to the one after is a surprise that the rules fail, it is
            left out: a jump is asked about at its later end, a doubtful step at both.
    """

    heard: int
    best: int
    context: Context


def standing(reader: Reader, place: Place, facts: Facts, shares: Sequence[float]) -> Standing:
    """Return what is judged of a reading, by the probabilities of its options."""
    posterior, index = place.woven.posterior, place.at
    best = max(range(len(reader.options)), key=shares.__getitem__)
    after = place.after
    if after is not None and posterior.surprise_after[index, best] >= SURPRISING:
        beside = Context(facts, before=reader.observations[best])
        if judge(after, beside).outcome is Outcome.FAIL:
            after = None
    heard = max(reader.first, key=shares.__getitem__)
    return Standing(heard, best, Context(facts, place.before, after))


def settle(
    reader: Reader, place: Place, facts: Facts, doubt: str = "", *, doubt_otherwise: str = ""
) -> Entry:
    """Return a reading's entry.

    Args:
        reader: the reading.
        place: where it lies in its settled strand.
        facts: what the whole drive said.
        doubt: what is said against it, if anything.
        doubt_otherwise: the same, told only where nothing else is.
    """
    settler = _Settler(reader, place, facts)
    entry = settler.entry(doubt)
    return settler.entry(doubt_otherwise) if doubt_otherwise and entry.status is not Status.FLAGGED else entry


def rejected(reader: Reader, reason: str) -> Entry:
    """Return the entry of a reading that no longer stands."""
    option = reader.options[0]
    return _entry(reader, 0, Status.REJECTED, option.weight, reason, origin=_origin(reader, 0))


class _Settler:
    def __init__(self, reader: Reader, place: Place, facts: Facts) -> None:
        self._reader = reader
        self._place = place
        self._facts = facts
        self._shares, self._foreign_shares, self._unheard = probabilities(reader, place)
        stands = standing(reader, place, facts, self._shares)
        self._heard, self._best, self._context = stands.heard, stands.best, stands.context

    def entry(self, doubt: str) -> Entry:
        heard, best = self._heard, self._best
        if doubt:
            return self._flagged(doubt)
        certain = self._certain(best)
        if certain and best == heard:
            return self._accepted(heard, "")
        verdict = judge(self._reader.observations[heard], self._context)
        if certain and self._repairable():
            said = self._reader.options[heard].heard
            why = verdict.message or self._unexpected()
            return self._accepted(best, f"heard first as '{said}', but {why}")
        waits = ", but no trusted reading follows" if certain else ""
        if verdict.outcome is not Outcome.PASS:
            return self._flagged(verdict.message + self._suggestion() + waits)
        if best != heard:
            return self._flagged(self._worse() + waits)
        return self._flagged(self._undecided())

    def _certain(self, index: int) -> bool:
        return (
            self._shares[index] >= ACCEPTED
            and not self._comes_by_surprise(index)
            and not self._reader.options[index].guessed
            and self._jumped_already(index) is None
            and self._passes(index)
        )

    def _comes_by_surprise(self, index: int) -> bool:
        return self._place.woven.posterior.surprise_before.item(self._place.at, index) >= SURPRISING

    def _goes_on_by_surprise(self, index: int) -> bool:
        return self._place.woven.posterior.surprise_after.item(self._place.at, index) >= SURPRISING

    def _jumped_already(self, index: int) -> int | None:
        """Return the other value that would be the first after a jump, where the jump otherwise comes right after this one.

        The jump costs the same on either side, so that only the sound would decide; and what is only a surprise
        beside its neighbours must not be replaced by what fits the ones before.
        """
        if not self._goes_on_by_surprise(index):
            return None
        return next(
            (
                other
                for other in self._ranked()
                if other != index
                and self._comes_by_surprise(other)
                and not self._goes_on_by_surprise(other)
                and not self._reader.options[other].guessed
            ),
            None,
        )

    def _repairable(self) -> bool:
        alone = judge(self._reader.observations[self._heard], Context(self._facts))
        between = self._place.before is not None and self._context.after is not None
        return between or alone.outcome is Outcome.FAIL

    def _passes(self, index: int) -> bool:
        return judge(self._reader.observations[index], self._context).outcome is Outcome.PASS

    def _unexpected(self) -> str:
        """Say that the value heard is off what the drive makes likely, with the numbers."""
        observed = self._reader.observations[self._heard]
        likely = expected_text(observed, self._place, beside_after=self._context.after is not None)
        if not likely:
            return f"{observed.text} does not fit the readings around it"
        return f"{observed.text} does not fit, {likely} would"

    def _worse(self) -> str:
        """Say that another answer fits better than the value heard."""
        observed, best = self._reader.observations[self._heard], self._reader.observations[self._best]
        bounds = expected(observed, self._place, beside_after=self._context.after is not None)
        if bounds is None or bounds[0] <= observed.base <= bounds[1]:
            other = self._reader.options[self._best].heard
            return f"'{other}' ({best.text}) sounds alike and is likelier beside the readings around it"
        return self._unexpected() + self._suggestion()

    def _suggestion(self) -> str:
        """Name the likeliest other answer that the rules pass, or what the drive makes likely in its place."""
        for index in self._ranked():
            if index != self._heard and self._shares[index] >= _TELLING and self._passes(index):
                observed = self._reader.observations[index]
                if self._shares[index] > 2.0 * self._place.woven.posterior.options[self._place.at, index]:
                    return f"; {observed.text} would fit"
                return f"; '{self._reader.options[index].heard}' ({observed.text}) sounds alike and fits"
        return ""

    def _undecided(self) -> str:
        """Say why a value that passes the rules is not certain."""
        heard = self._heard
        own = self._reader.observations[heard]
        before = self._place.before
        if self._comes_by_surprise(heard) and before is not None:
            return f"{own.text} does not follow from {before.text} at {clock_text(before.at_ns)} as usual"
        if (other := self._jumped_already(heard)) is not None:
            return f"a jump follows; '{self._reader.options[other].heard}' ({self._reader.observations[other].text}) sounds alike and would be the first after it"
        others = [index for index in self._ranked() if index != heard]
        if others and self._shares[others[0]] >= max(_FITS_AS_WELL, self._unheard):
            observed = self._reader.observations[others[0]]
            return (
                f"'{self._reader.options[others[0]].heard}' ({observed.text}) sounds alike and fits as well"
            )
        for rival in sorted(self._place.rivals, key=lambda each: abs(each.at_ns - own.at_ns)):
            context = (
                Context(self._facts, rival) if rival.at_ns < own.at_ns else Context(self._facts, None, rival)
            )
            if judge(own, context).outcome is not Outcome.PASS:
                return f"{own.text} and {rival.text} at {clock_text(rival.at_ns)} cannot both be right, and nothing else decides"
        foreign = [option for option in self._reader.foreign if option.heard]
        if foreign:
            return f"it may have been '{foreign[0].heard}' instead"
        if self._reader.options[heard].weight >= ACCEPTED:
            return "the words are clear, but other readings make the value unlikely"
        return f"the recogniser was sure of these words by {self._reader.options[heard].weight:.0%} only"

    def _ranked(self) -> list[int]:
        return sorted(range(len(self._shares)), key=self._shares.__getitem__, reverse=True)

    def _accepted(self, index: int, reason: str) -> Entry:
        replaces = self._reader.spoken.replaces
        if replaces:
            said = f"said at {clock_text(self._reader.spoken.slot.at_ns)} to replace {replaces}"
            reason = f"{said}; {reason}" if reason else said
        status = Status.CORRECTED if replaces else Status.ACCEPTED
        return self._with_alternatives(index, status, reason)

    def _flagged(self, reason: str) -> Entry:
        return self._with_alternatives(self._heard, Status.FLAGGED, reason)

    def _with_alternatives(self, index: int, status: Status, reason: str) -> Entry:
        options, observations, shares = self._reader.options, self._reader.observations, self._shares
        others = [
            Alternative(
                observations[other].value,
                observations[other].unit,
                options[other].heard,
                round(shares[other], 4),
            )
            for other in self._ranked()
            if other != index and (shares[other] >= _TELLING or not options[other].guessed)
        ]
        others += self._foreign()
        others.sort(key=attrgetter("confidence"), reverse=True)
        return _entry(
            self._reader,
            index,
            status,
            self._shares[index],
            reason,
            origin=_origin(self._reader, index),
            alternatives=tuple(others),
        )

    def _foreign(self) -> list[Alternative]:
        """What the reading may be of another quantity."""
        if not self._foreign_shares:
            return []
        return [
            Alternative(option.part.value, option.part.unit, option.heard, round(share, 4))
            for option, share in zip(self._reader.foreign, self._foreign_shares, strict=True)
            if isinstance(option.part, Reading)
        ]


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
        confidence=round(min(1.0, max(0.0, confidence)), 4),
        origin=origin,
        heard=reader.options[index].heard,
        note="",
        reason=reason,
        alternatives=alternatives,
    )
