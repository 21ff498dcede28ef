"""A page about several drives: all that it shows, in words, in the order it shows it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logger.core.comparing.flags import (
    BOUNDS,
    COLDEST_C,
    MOST_APART,
    MOST_CLIMB_M,
    MOST_WIND_KMH,
    WARMEST_C,
    flag_text,
)
from logger.core.comparing.rows import MANY, Grid, comparison_grid, flag_counts
from logger.core.comparing.whole import Beside
from logger.core.reporting.chart_words import Chart
from logger.core.units import Distances

CAUTIONS = (
    "Each row is one drive of one car on one day; what is not flagged may differ all the same.",
    "A flag is no verdict: what a difference is worth is for whoever knows the cars and the road.",
    "Do not run a battery flat in traffic; leave fast roads before it is empty. Local law comes first.",
)


@dataclass(frozen=True, slots=True)
class ComparisonPage:
    """All that the page shows.

    Attributes:
        title: how many drives.
        flags: what makes drives not comparable: name and sentences of each that has any, or, without a name, of how many
            drives each kind is said; () where nothing does.
        drives: a row each.
        spread: how the figures are spread, of many drives; None of a few.
        charts: in words, in the order they are shown.
        bounds: what a drive is held against, a sentence each.
        cautions: what whoever uses the figures must have read.
        written_by: the program.
    """

    title: str
    flags: tuple[tuple[str, tuple[str, ...]], ...]
    drives: Grid
    spread: Grid | None
    charts: tuple[Chart, ...]
    bounds: tuple[str, ...]
    cautions: tuple[str, ...]
    written_by: str


def page_of(
    drives: Sequence[Beside],
    distances: Distances,
    charts: Sequence[Chart],
    *,
    spread: Grid | None,
    written_by: str,
) -> ComparisonPage:
    """Return what the page about drives shows; `spread` counts where there are many."""
    return ComparisonPage(
        title="1 drive" if len(drives) == 1 else f"{len(drives)} drives compared",
        flags=_flags(drives, distances),
        drives=comparison_grid(drives, distances),
        spread=spread if len(drives) > MANY else None,
        charts=tuple(charts),
        bounds=_bounds(),
        cautions=CAUTIONS,
        written_by=written_by,
    )


def _flags(drives: Sequence[Beside], distances: Distances) -> tuple[tuple[str, tuple[str, ...]], ...]:
    if len(drives) > MANY:
        counts = flag_counts(drives)
        return (("", counts),) if counts else ()
    return tuple(
        (drive.name, tuple(flag_text(flag, distances) for flag in drive.flags))
        for drive in drives
        if drive.flags
    )


def _bounds() -> tuple[str, ...]:
    beside = [
        f"{bound.name[0].upper()}{bound.name[1:]}, against the median of the others: within "
        f"{f'{bound.most:.0%}' if bound.relative else f'{bound.most:g} {bound.unit}'} ({bound.source})."
        for bound in BOUNDS.values()
    ]
    alone = (
        f"The ends of a loop: no farther apart than {MOST_APART:.0%} of the way, and within {MOST_CLIMB_M:g} m in height (ours).",
        f"Wind up to {MOST_WIND_KMH:g} km/h and {COLDEST_C:g} to {WARMEST_C:g} degC (SAE J1263-2010, read in a secondary copy).",
        "No entry in doubt, no charging on the way, the same tyres as most others, distances by the same means.",
    )
    return (*beside, *alone)
