"""Where a reading lies in its settled strand, and which trusted readings are around it. Pure."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import NamedTuple

from logger.core.rules import Observation
from logger.core.strands import TRUSTED, Woven


class Place(NamedTuple):  # a reading has several, and a tuple is made much faster than a frozen record
    """Where a reading lies in its strand.

    Attributes:
        woven: the strand.
        at: which of its readings this is.
        before_at, after_at: which are the nearest trusted ones before and after, None where there are none.
        before, after: their values.
        rivals: values of nearby readings that were heard first and are not believed.
    """

    woven: Woven
    at: int
    before_at: int | None
    after_at: int | None
    before: Observation | None
    after: Observation | None
    rivals: tuple[Observation, ...] = ()


class TrustedReadings:
    """The readings of a strand that are trusted, for others to be held against."""

    def __init__(self, woven: Woven) -> None:
        self._observed = [each for each in woven.all_taken(TRUSTED) if each is not None]
        self._at_ns = [each.at_ns for each in self._observed]

    def around(self, begin_ns: int, end_ns: int) -> tuple[Observation | None, Observation | None]:
        """Return the one before a stretch of time, and the one after it; None where there is none."""
        before = bisect_left(self._at_ns, begin_ns) - 1
        after = bisect_right(self._at_ns, end_ns)
        return (
            self._observed[before] if before >= 0 else None,
            self._observed[after] if after < len(self._observed) else None,
        )


def places(woven: Woven, firsts: Sequence[Observation | None] = (), reach: int = 0) -> list[Place]:
    """Return where each reading lies.

    Args:
        woven: the strand.
        firsts: for each reading the value heard first, None for what a person decided; without any, rivals are not asked for.
        reach: how many readings away a rival may be.
    """
    trusted = woven.all_taken(TRUSTED)
    last = len(trusted) - 1
    around = zip(_nearest_before(trusted), reversed(_nearest_before(trusted[::-1])), strict=True)
    found = [
        Place(woven, index, before_at, None if after_at is None else last - after_at, before, after)
        for index, ((before_at, before), (after_at, after)) in enumerate(around)
    ]
    for index, (first, believed) in enumerate(zip(firsts, woven.all_taken(), strict=False)):
        if first is None or first == believed:
            continue
        for near in range(max(0, index - reach), min(last, index + reach) + 1):
            if near != index:
                found[near] = found[near]._replace(rivals=(*found[near].rivals, first))
    return found


def _nearest_before(
    trusted: Sequence[Observation | None],
) -> list[tuple[int | None, Observation | None]]:
    """Return for each reading which is the nearest trusted one before it, and its value."""
    found: list[tuple[int | None, Observation | None]] = []
    nearest: tuple[int | None, Observation | None] = None, None
    for index, observed in enumerate(trusted):
        found.append(nearest)
        if observed is not None:
            nearest = index, observed
    return found
