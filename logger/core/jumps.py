"""What a jump that nobody noted leaves in doubt. Pure.

Who charged and did not say so reads off a predicted range that has jumped as well. A range misheard as one that goes on as
before would fit what came before better than the truth does, so the first one after such a jump is asked about.

A voice in noise may be misheard the same way again and again: "three hundred" as "two hundred" for an hour is a trip that jumps by
100 and goes on well. To the strand each such reading is one more witness for the jump, though they are all the same
mishearing. So a distance beside a jump is asked about where an answer of the recogniser would do without the jump: were
it a true one, no such answer would be there but by chance. Where most on one side were heard so, all of them are asked about.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from logger.core.neighbours import Place
from logger.core.readers import Reader
from logger.core.rules import Context, Facts, Observation, Outcome, judge
from logger.core.said import clock_text
from logger.core.settling import SURPRISING
from logger.core.strands import TRUSTED

_Readings = Sequence[tuple[Reader, Place]]
_DISTANCES = ("trip", "odometer")


class _Rise(NamedTuple):
    from_ns: int
    to_ns: int
    told: str


def doubts_after_charging(readings: Iterable[tuple[Reader, Place]]) -> dict[str, str]:
    """Return why the first predicted range after each unnoted rise of the charge is in doubt, by entry id."""
    kept = tuple(readings)
    rises = [rise for reader, place in kept if (rise := _rise(reader, place)) is not None]
    return {
        reader.id: f"{rise.told}, and no charging was noted; so nothing tells whether this fits"
        for reader, place in kept
        if reader.observations[0].quantity == "range_left"
        for rise in rises
        if rise.from_ns < reader.spoken.at_ns and (place.before is None or place.before.at_ns < rise.to_ns)
    }


def _rise(reader: Reader, place: Place) -> _Rise | None:
    """Return where the charge rose by a surprise to the likeliest value of a reading."""
    if reader.observations[0].quantity != "charge" or (before := place.before) is None:
        return None
    observed = _believed(reader, place)
    if observed.base <= before.base or not _is_jump(place):
        return None
    told = f"the charge rose from {before.text} to {observed.text} at {clock_text(observed.at_ns)}"
    return _Rise(before.at_ns, observed.at_ns, told)


def doubts_beside_jumps(readings: _Readings, facts: Facts) -> dict[str, str]:
    """Return why distances that were heard otherwise too, as if there were no jump, are in doubt, by entry id.

    Args:
        readings: each with its place in its strand, those of a strand in order.
        facts: what the whole drive said.
    """
    found: dict[str, str] = {}
    for quantity in _DISTANCES:
        strand = [each for each in readings if each[0].observations[0].quantity == quantity]
        jumps = [at for at, (_, place) in enumerate(strand) if _is_trusted_jump(place)]
        for jump, begin, end in zip(jumps, [0, *jumps], [*jumps[1:], len(strand)], strict=False):
            found |= _beside(strand, jump, range(begin, end), facts)
    return found


def _beside(strand: _Readings, jump: int, near: range, facts: Facts) -> dict[str, str]:
    """Return the doubts of readings before and after a jump, up to the next ones; itself it is asked about in any case."""
    reader, place = strand[jump]
    before, after = place.before, _believed(reader, place)
    assert before is not None
    told = f"from {before.text} to {after.text} at {clock_text(after.at_ns)} the {after.quantity} jumped"
    found = {}
    sides = (
        ("before", range(near.start, jump), Context(facts, after=after)),
        ("after", range(jump + 1, near.stop), Context(facts, before=before)),
    )
    for side, places, without in sides:
        otherwise = {at: heard for at in places if (heard := _heard_without(*strand[at], without))}
        for at in places:
            if at in otherwise:
                found[strand[at][0].id] = (
                    f"{told}; {otherwise[at]} was heard here as well and would fit without that"
                )
            elif 2 * len(otherwise) > len(places):
                found[strand[at][0].id] = f"{told}, and readings {side} that were heard otherwise as well"
    return found


def _heard_without(reader: Reader, place: Place, without: Context) -> str:
    """Return what a reading was heard as that fits without a jump and not beside what is believed around it; "" if nothing."""
    beside = Context(without.facts, place.before, place.after)
    return next(
        (
            f"'{option.heard}' ({observed.text})"
            for option, observed in zip(reader.options, reader.observations, strict=True)
            if not option.guessed
            and judge(observed, without).outcome is Outcome.PASS
            and judge(observed, beside).outcome is Outcome.FAIL
        ),
        "",
    )


def _believed(reader: Reader, place: Place) -> Observation:
    return reader.observations[int(place.woven.posterior.likeliest[place.index])]


def _is_trusted_jump(place: Place) -> bool:
    """Whether what stands before a reading and what it comes to are both believed, and one does not follow from the other."""
    return (
        place.before is not None and place.woven.taken(place.index, TRUSTED) is not None and _is_jump(place)
    )


def _is_jump(place: Place) -> bool:
    """Whether the likeliest value of a reading was reached by a surprise."""
    posterior, index = place.woven.posterior, place.index
    return bool(posterior.surprise_before[index, int(posterior.likeliest[index])] >= SURPRISING)
