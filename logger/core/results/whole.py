"""All the results of a drive. Pure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from logger.core.results.answers import SECTIONS, answer, cautions
from logger.core.results.basis import basis_of
from logger.core.results.charts import (
    charge_series,
    predicted_series,
    projected_series,
    reached_km,
    stretch_series,
    way_series,
)
from logger.core.results.doubtful import sentences
from logger.core.results.figures import Section
from logger.core.results.observed import Observed
from logger.core.results.series import ProfileSeries, Series, SpeedSeries, floats


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


CONDITIONS: tuple[Callable[[Observed], Section], ...] = ()
"""What makes the sections of speed, place and weather, in the order they are told after those of readings and distance."""


def work_out(seen: Observed) -> Results:
    """Return what a drive comes to, whatever is missing in it."""
    basis = basis_of(seen)
    sections = (*(make(basis) for make in SECTIONS), *(make(seen) for make in CONDITIONS))
    series = Series(
        charge=charge_series(basis),
        projected=projected_series(basis),
        predicted=predicted_series(basis),
        speed=SpeedSeries(floats([]), floats([]), 1.0, basis.told.get("target_gps_speed")),
        profile=ProfileSeries(floats([]), floats([])),
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
