"""All the results of a drive. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from logger.core.results.figures import Section
from logger.core.results.observed import Observed
from logger.core.results.series import Series


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


def work_out(seen: Observed) -> Results:
    """Return what a drive comes to, whatever is missing in it."""
    raise NotImplementedError(seen)
