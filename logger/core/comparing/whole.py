"""Several drives compared. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from logger.core.comparing.flags import Flag, flags_of
from logger.core.comparing.summary import Summary
from logger.core.units import Distances


@dataclass(frozen=True, slots=True)
class Beside:
    """A drive among others.

    Attributes:
        name: unique among them.
        summary: what of it is compared.
        flags: what makes it not comparable with the others; () where nothing does.
    """

    name: str
    summary: Summary
    flags: tuple[Flag, ...]


def compared(named: Iterable[tuple[str, Summary]]) -> tuple[Beside, ...]:
    """Return drives with what makes each not comparable with the others, in the order given."""
    drives = tuple(named)
    flags = flags_of([summary for _, summary in drives])
    return tuple(
        Beside(name, summary, of_this) for (name, summary), of_this in zip(drives, flags, strict=True)
    )


def usual_distances(drives: Iterable[Beside]) -> Distances:
    """Return what most of the dashes count in; kilometres where as many count in either."""
    counts = Counter(each.summary.distances for each in drives)
    return "mi" if counts["mi"] > counts["km"] else "km"
