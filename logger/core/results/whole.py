"""All the results of a drive. Pure."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from logger.core.results import range_driven
from logger.core.results.air import air
from logger.core.results.altitude import altitude, profile_series
from logger.core.results.answers import SECTIONS, answer, cautions
from logger.core.results.basis import Basis, basis_of
from logger.core.results.charts import (
    charge_series,
    predicted_series,
    projected_series,
    reached_km,
    stretch_series,
    way_series,
)
from logger.core.results.closure import closure
from logger.core.results.corrected import corrected, corrected_range
from logger.core.results.doubtful import sentences
from logger.core.results.figures import Figure, Section
from logger.core.results.observed import Observed
from logger.core.results.road_load import road_load
from logger.core.results.series import Series
from logger.core.results.steadiness import speed_series, steadiness
from logger.core.results.telling import Z95
from logger.core.results.wind import wind


@dataclass(frozen=True, slots=True, eq=False)
class Results:
    """What a drive comes to.

    Attributes:
        observed: what it was worked out from.
        answer: the few figures that people ask for first, each also in its section.
        sections: all figures, in the order they are told.
        series: what the charts show.
        doubts: what is not settled and what it may change, one sentence each; () where nothing is.
        cautions: sentences that whoever uses the figures must have read.
    """

    observed: Observed
    answer: Section
    sections: tuple[Section, ...]
    series: Series
    doubts: tuple[str, ...]
    cautions: tuple[str, ...]

    def section(self, key: str) -> Section:
        """Return a section.

        Raises:
            KeyError: there is no such section.
        """
        for section in self.sections:
            if section.key == key:
                return section
        raise KeyError(key)


CONDITIONS: Mapping[str, Callable[[Observed], Section]] = MappingProxyType(
    {
        "steadiness": steadiness,
        "closure": closure,
        "altitude": altitude,
        "air": air,
        "wind": wind,
        "road_load": road_load,
    }
)
"""What makes the sections of speed, place and weather by their keys, in the order they are told after those of readings and distance."""
_CORRECTED = "corrected"


def work_out(seen: Observed) -> Results:
    """Return what a drive comes to, whatever is missing in it."""
    basis = basis_of(seen)
    sections = sections_of(basis, {*SECTIONS, *CONDITIONS, _CORRECTED})
    series = Series(
        charge=charge_series(basis),
        projected=projected_series(basis),
        predicted=predicted_series(basis),
        speed=speed_series(seen),
        profile=profile_series(seen),
        stretches=stretch_series(basis),
        way=way_series(basis),
        reached_km=reached_km(basis),
    )
    return Results(
        observed=seen,
        answer=answer(basis, {each.key: each for each in sections}),
        sections=sections,
        series=series,
        doubts=(*sentences(basis), *basis.told.problems),
        cautions=cautions(basis),
    )


def sections_of(basis: Basis, keys: Collection[str], *, briefly: bool = False) -> tuple[Section, ...]:
    """Return those of the sections that are asked for, in the order they are told; the others are not worked out.

    Args:
        basis: what they start from.
        keys: of the sections.
        briefly: of what is brought to reference conditions the range will do.
    """
    made = {key: make(basis) for key, make in SECTIONS.items() if key in keys}
    made |= {key: make(basis.seen) for key, make in CONDITIONS.items() if key in keys}
    if _CORRECTED in keys:
        driven = made.get(range_driven.KEY) or range_driven.section(basis)
        bring = corrected_range if briefly else corrected
        made[_CORRECTED] = bring(basis.seen, *_range_to_correct(driven))
    return tuple(made.values())


def _range_to_correct(driven: Section) -> tuple[float | None, float]:
    """Return the range from full to empty in km and its standard deviation, 0 where none is told."""
    found = driven.answer("from_full")
    if not isinstance(found, Figure):
        return None, 0.0
    wide = 0.0 if found.low is None or found.high is None else found.high - found.low
    return found.value, wide / (2.0 * Z95)
