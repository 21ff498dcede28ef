"""What a jump that nobody noted leaves in doubt. Pure.

Who charged and did not say so reads off a predicted range that has jumped as well. A range misheard as one that goes on as
before would fit what came before better than the truth does, so the first one after such a jump is asked about.

A voice in noise may be misheard the same way again and again: "three hundred" as "two hundred" for an hour is a trip that jumps by
100 and goes on well, "eighty" as "fifty" a charge that falls by 30 and comes back. To the strand each such reading is one more
witness for the jump, though they are all the same mishearing. So a distance or a charge beside a jump is asked about where an
answer of the recogniser would do without the jump: were it a true one, no such answer would be there but by chance. Where most
on one side were heard so, all of them are asked about, and weighed as what they may be, one mishearing (`misheard_alike`).
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import compress
from typing import NamedTuple

from grammar import Language
from logger.core.evidence import Surroundings
from logger.core.guessing import with_unheard
from logger.core.neighbours import Place
from logger.core.readers import Reader
from logger.core.rules import Context, Facts, Observation, Outcome, judge
from logger.core.said import clock_text
from logger.core.settling import SURPRISING

MISHEARD_ALIKE = 0.05
"""How likely it is that a voice is misheard the same way all along a side of a jump, where most of it was heard otherwise as
well: judged, not measured."""

_UNLISTED_ALIKE = 0.3
"""What is misheard alike is often in no answer at all: this much less likely is then what it must have been."""
_ABOUT = 0.2
"""How far off the width of a jump the same mishearing may be, as a share: what both sides went on by is not known exactly."""

_Readings = Sequence[tuple[Reader, Place]]
COUNTED = ("trip", "odometer", "charge")
"""Quantities whose readings beside a jump are looked at."""


class Doubt(NamedTuple):
    """Why a distance or a charge beside a jump is in doubt.

    Attributes:
        reason: in words.
        without: its options that do without the jump, where most readings of its side have some.
        unheard: where it has none itself, but most do: the value that it has if it was misheard as they were.
        share: how likely either is beside what is believed, if all were misheard alike: its part of `MISHEARD_ALIKE`.
    """

    reason: str
    without: tuple[int, ...]
    unheard: Decimal | None
    share: float

    @property
    def is_alike(self) -> bool:
        """Whether it may be one of many with the same mishearing."""
        return bool(self.without) or self.unheard is not None


class _Rise(NamedTuple):
    from_ns: int
    to_ns: int
    told: str


def doubts_after_charging(readings: Iterable[tuple[Reader, Place]]) -> dict[str, str]:
    """Return why the first predicted range after each unnoted rise of the charge is in doubt, by entry id."""
    kept = tuple(readings)
    breath_ends: dict[int, int] = {}
    for reader, _ in kept:
        call = reader.spoken.slot.utterance_id
        breath_ends[call] = max(reader.spoken.at_ns, breath_ends.get(call, 0))
    charges = [each for each in kept if each[0].observations[0].quantity == "charge"]
    # Nobody charges a car between two readings of one breath.
    ends_at = {place.at: breath_ends[reader.spoken.slot.utterance_id] for reader, place in charges}
    jumped = compress(charges, _reached_by_surprise(charges))
    rises = [rise for each in jumped if (rise := _rise(*each, ends_at)) is not None]
    begins = [rise.from_ns for rise in rises]  # in order, as their ends are: charges are in order of time
    found = {}
    for reader, place in kept:
        if reader.observations[0].quantity != "range_left":
            continue
        newest = bisect_left(begins, reader.spoken.at_ns) - 1
        if newest >= 0 and (place.before is None or place.before.at_ns < rises[newest].to_ns):
            told = rises[newest].told
            found[reader.id] = f"{told}, and no charging was noted; so nothing tells whether this fits"
    return found


def _rise(reader: Reader, place: Place, ends_at: Mapping[int, int]) -> _Rise | None:
    """Return where the charge rose to the likeliest value of a reading, which was reached by a surprise; None where it fell.

    `ends_at` says when the breath ends in which each charge was said, by its place; nothing of what a person decided.
    """
    observed = _believed(reader, place)
    if place.before is None or place.before_at is None or observed.base <= place.before.base:
        return None
    told = f"the charge rose from {place.before.text} to {observed.text} at {clock_text(observed.at_ns)}"
    # A correction has the time of what it replaces, and its breath may end later than the car was charged.
    begun_ns = min(ends_at.get(place.before_at, place.before.at_ns), observed.at_ns)
    return _Rise(begun_ns, observed.at_ns, told)


def doubts_beside_jumps(readings: _Readings, facts: Facts) -> dict[str, Doubt]:
    """Return why readings that were heard otherwise too, as if there were no jump, are in doubt, by entry id.

    Args:
        readings: each with its place in its strand, those of a strand in order.
        facts: what the whole drive said.
    """
    found: dict[str, Doubt] = {}
    for quantity in COUNTED:
        strand = [each for each in readings if each[0].observations[0].quantity == quantity]
        jumps = _likely_jumps(strand)
        for jump, begin, end in zip(jumps, [0, *jumps], [*jumps[1:], len(strand)], strict=False):
            found |= _beside(strand, jump, range(begin, end), facts)
    return found


def misheard_alike(reader: Reader, doubt: Doubt, language: Language, around: Surroundings) -> Reader:
    """Return a reading weighed as one of many with the same mishearing, which then is paid for once by all of them together.

    What it was heard as that does without the jump, or would have been, comes to weigh about as much as what it is believed
    to be.
    """
    without = doubt.without
    if doubt.unheard is not None:
        reader = with_unheard(reader, doubt.unheard, language, around)
        without = tuple([index for index, option in enumerate(reader.options) if option.guessed])
    weights = [option.weight for option in reader.options]
    before = sum([weights[index] for index in without])
    most = max(weights)
    if not without or before >= most:
        return reader
    # The rest, none of the options included, stays as it is.
    now = (most + before) * doubt.share / (1.0 + doubt.share)
    weights[weights.index(most)] = most + before - now
    for index in without:
        weights[index] = now * (weights[index] / before if before else 1.0 / len(without))
    options = [option._replace(weight=weight) for option, weight in zip(reader.options, weights, strict=True)]
    return replace(reader, options=tuple(options))


def _beside(strand: _Readings, jump: int, near: range, facts: Facts) -> dict[str, Doubt]:
    """Return the doubts of readings before and after a jump, up to the next ones; itself it is asked about in any case."""
    reader, place = strand[jump]
    before, after = place.before, _believed(reader, place)
    assert before is not None
    told = f"from {before.text} to {after.text} at {clock_text(after.at_ns)} the {after.quantity} jumped"
    found: dict[str, Doubt] = {}
    by = _jumped_by(place, before, after)
    sides = (
        ("before", range(near.start, jump), Context(facts, after=after), by),
        ("after", range(jump, near.stop), Context(facts, before=before), -by),
    )
    for side, places, without, off in sides:
        otherwise = {at: heard for at in places if (heard := _heard_without(*strand[at], without, off))}
        alike = 2 * len(otherwise) > len(places)
        shift = _usual_shift(strand, otherwise) if alike else None
        share = MISHEARD_ALIKE ** (1.0 / max(1, len(otherwise)))
        for at in places:
            each = strand[at][0]
            if at in otherwise:
                option = otherwise[at][0]
                as_well = f"'{each.options[option].heard}' ({each.observations[option].text})"
                reason = f"{told}; {as_well} was heard here as well and would fit without that"
                found[each.id] = Doubt(reason, otherwise[at] if alike else (), None, share)
            elif alike:
                reason = f"{told}, and readings {side} that were heard otherwise as well"
                unheard = None if shift is None else _believed(*strand[at]).value + shift
                found[each.id] = Doubt(reason, (), unheard, share * _UNLISTED_ALIKE)
    return found


def _usual_shift(strand: _Readings, otherwise: Mapping[int, tuple[int, ...]]) -> Decimal | None:
    """Return how far off what is believed most readings were heard otherwise, None where they have different units."""
    shifts: Counter[Decimal] = Counter()
    for at, options in otherwise.items():
        believed = _believed(*strand[at])
        shifts.update(
            observed.value - believed.value
            for observed in (strand[at][0].observations[option] for option in options)
            if observed.unit == believed.unit
        )
    return shifts.most_common(1)[0][0] if shifts else None


def _jumped_by(place: Place, before: Observation, after: Observation) -> float:
    """Return how far a quantity jumped, less what it would have gone on by."""
    course, km = place.woven.course, place.woven.strand.km
    return after.base - before.base - course.slope * float(km[place.at] - km[place.before_at])


def _heard_without(reader: Reader, place: Place, without: Context, off: float) -> tuple[int, ...]:
    """Return which options of a reading fit without a jump and not beside what is believed around it.

    They are as far off what is believed as the jump is wide: the same words misheard.
    """
    if len(reader.options) == 1:
        return ()
    beside = Context(without.facts, place.before, place.after)
    believed = _believed(reader, place).base
    return tuple(
        [
            index
            for index, (option, observed) in enumerate(zip(reader.options, reader.observations, strict=True))
            if abs(observed.base - believed - off) <= _ABOUT * abs(off)
            and not option.guessed
            and judge(observed, without).outcome is Outcome.PASS
            and judge(observed, beside).outcome is Outcome.FAIL
        ]
    )


def _believed(reader: Reader, place: Place) -> Observation:
    return reader.observations[int(place.woven.posterior.likeliest[place.at])]


def _likely_jumps(strand: _Readings) -> list[int]:
    """Return which readings are likely what they come to by a surprise, from a trusted one before."""
    surprising = _reached_by_surprise(strand)
    return [
        number
        for number, (_, place) in enumerate(strand)
        if surprising[number] and place.before is not None and place.woven.taken(place.at) is not None
    ]


def _reached_by_surprise(strand: _Readings) -> list[bool]:
    """Return whether the likeliest value of each reading of one strand was reached by a surprise."""
    if not strand:
        return []
    # Of all readings at once: jumps are few.
    posterior, rows = strand[0][1].woven.posterior, [place.at for _, place in strand]
    reached = posterior.surprise_before[rows, posterior.likeliest[rows]] >= SURPRISING
    return [bool(each) for each in reached]
