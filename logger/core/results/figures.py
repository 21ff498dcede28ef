"""What a result is told in: figures with their uncertainty, or why there is none, gathered in sections. Pure.

Figures are in base units, whatever the dash showed: km, km/h, Wh/km, degC, kWh, %, s, m, m/s, kg/m3, "" for a plain number, `YES_NO`.
Whoever shows them converts (`shown`), also the figures inside sentences and labels, which are in base units as well, "driven 472.7 km"
(`logger.core.reporting.sentence_words`). Only in a doubt, before its last colon, and in other units, stands what was said as it was said.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeAlias

from logger.core.table import Table
from logger.core.units import Distances, convert_exactly, convertible, shown_in


@dataclass(frozen=True, slots=True)
class Figure:
    """A number of the result, and how far to trust it.

    Attributes:
        value: in `unit`, finite.
        unit: a base unit; see above.
        low, high: the 95 % interval, None where none can be stated honestly.
        covers: what the interval covers and what not, in one phrase without a full stop; "" without an interval.
        estimate: whether it rests on assumptions about the car or the weather, not on readings alone.
        remark: one sentence that a reader should not miss, "" where there is none.
    """

    value: float
    unit: str
    low: float | None = None
    high: float | None = None
    covers: str = ""
    estimate: bool = False
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Absent:
    """A figure that cannot be computed.

    Attributes:
        why: one sentence for the driver: what is missing, and where it helps, how to have it next time.
    """

    why: str


YES_NO = "1 or 0"
"""The unit of a figure that is 1 for yes and 0 for no."""

Answer: TypeAlias = Figure | Absent


@dataclass(frozen=True, slots=True)
class Line:
    """One figure by name.

    Attributes:
        key: its name for programs, without a unit, lower case with underscores: unique in its section.
        label: its name for people, beginning with a capital letter.
        answer: the figure, or why there is none.
    """

    key: str
    label: str
    answer: Answer


@dataclass(frozen=True, slots=True)
class Section:
    """Figures that belong together.

    Attributes:
        key: its name for programs.
        title: its name for people.
        lines: its figures.
        tables: rows of figures in base units, such as one for each charge band; their columns say the units.
        remarks: sentences for people, each whole.
    """

    key: str
    title: str
    lines: tuple[Line, ...]
    tables: tuple[Table, ...] = ()
    remarks: tuple[str, ...] = ()

    def answer(self, key: str) -> Answer:
        """Return the answer of a line.

        Raises:
            KeyError: there is no such line.
        """
        for line in self.lines:
            if line.key == key:
                return line.answer
        raise KeyError(key)


def found(answers: Iterable[Answer]) -> tuple[Figure, ...]:
    """Return those that are figures."""
    return tuple(each for each in answers if isinstance(each, Figure))


def shown(figure: Figure, distances: Distances | None, *, unit: str | None = None) -> Figure:
    """Return a figure in the units of miles or of kilometres, or in a `unit` that is asked for.

    The ends of its interval change places where a unit measures the reciprocal. What cannot be told so (the reciprocal of 0)
    stays as it is.
    """
    to = unit if unit is not None else shown_in(figure.unit, distances)
    if to == figure.unit or not convertible(figure.unit, to):
        return figure
    try:
        value = _converted(figure.value, figure.unit, to)
        ends = [_converted(end, figure.unit, to) for end in (figure.low, figure.high) if end is not None]
    except ValueError:
        return figure
    low, high = (min(ends), max(ends)) if len(ends) == 2 else (None, None)
    return replace(figure, value=value, unit=to, low=low, high=high)


def _converted(value: float, unit: str, to: str) -> float:
    return float(convert_exactly(Fraction(value), unit, to))
