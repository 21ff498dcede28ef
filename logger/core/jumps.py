"""What a jump of the charge that nobody noted leaves in doubt. Pure.

Who charged and did not say so reads off a predicted range that has jumped as well. A range misheard as one that goes on as
before would fit what came before better than the truth does, so the first one after such a jump is asked about.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from logger.core.neighbours import Place
from logger.core.readers import Reader
from logger.core.said import clock_text
from logger.core.settling import SURPRISING


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
    posterior, index = place.woven.posterior, place.index
    best = int(posterior.likeliest[index])
    observed = reader.observations[best]
    if observed.base <= before.base or posterior.surprise_before[index, best] < SURPRISING:
        return None
    told = f"the charge rose from {before.text} to {observed.text} at {clock_text(observed.at_ns)}"
    return _Rise(before.at_ns, observed.at_ns, told)
