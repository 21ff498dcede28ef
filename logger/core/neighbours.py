"""Where a reading lies in its settled strand, and which trusted readings are around it. Pure."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from logger.core.rules import Observation
from logger.core.strands import TRUSTED, Woven


@dataclass(frozen=True, slots=True)
class Place:
    """Where a reading lies in its strand.

    Attributes:
        woven: the strand.
        index: which of its readings this is.
        before_at, after_at: which are the nearest trusted ones before and after, None where there are none.
        rivals: values of nearby readings that were heard first and are not believed.
    """

    woven: Woven
    index: int
    before_at: int | None
    after_at: int | None
    rivals: tuple[Observation, ...] = ()

    @property
    def before(self) -> Observation | None:
        """The trusted value before."""
        return None if self.before_at is None else self.woven.taken(self.before_at)

    @property
    def after(self) -> Observation | None:
        """The trusted value after."""
        return None if self.after_at is None else self.woven.taken(self.after_at)


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


def trusted_around(woven: Woven) -> tuple[list[int | None], list[int | None]]:
    """Return for each reading which are the nearest trusted ones before it, and after it; None where there are none."""
    count, trusted = len(woven.knots), woven.all_taken(TRUSTED)
    before_at: list[int | None] = [None] * count
    after_at: list[int | None] = [None] * count
    for index in range(1, count):
        before_at[index] = before_at[index - 1] if trusted[index - 1] is None else index - 1
    for index in range(count - 2, -1, -1):
        after_at[index] = after_at[index + 1] if trusted[index + 1] is None else index + 1
    return before_at, after_at


def places(woven: Woven, firsts: Sequence[Observation | None], reach: int) -> tuple[Place, ...]:
    """Return where each reading lies.

    Args:
        woven: the strand.
        firsts: for each reading the value heard first, None for what a person decided.
        reach: how many readings away a rival may be.
    """
    count = len(woven.knots)
    taken = woven.all_taken()
    rivals: list[tuple[Observation, ...]] = [()] * count
    for index, (first, believed) in enumerate(zip(firsts, taken, strict=True)):
        if first is None or first == believed:
            continue
        for near in range(max(0, index - reach), min(count, index + reach + 1)):
            if near != index:
                rivals[near] += (first,)
    return tuple(
        [
            Place(woven, index, *around)
            for index, around in enumerate(zip(*trusted_around(woven), rivals, strict=True))
        ]
    )
