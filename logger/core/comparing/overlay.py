"""Courses of several drives in one chart: a line each, or of many the bands that they lie in. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from logger.core.comparing.rows import MANY
from logger.core.comparing.summary import Course, Summary
from logger.core.comparing.whole import Beside
from logger.core.reporting.chart_words import Chart
from logger.core.reporting.figure_words import ShownUnits, number_text
from logger.core.results.figures import Figure

PLACES = 60
LEAST_DRIVES = 5
"""Bands end where fewer drives than this are left: the quantiles of a handful say nothing."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A chart of courses: its key and name, what is up its axis in which base unit, and where a drive has it."""

    key: str
    title: str
    up: str
    unit: str
    of: Callable[[Summary], Course]


KINDS = (
    Kind("charge", "Charge over distance", "Charge", "%", lambda each: each.charge),
    Kind("projected", "Projected range over distance", "Projected range", "km", lambda each: each.projected),
)

Band = Sequence[float]
"""A place in km, how many drives are known there, and the quantiles of their values: 5, 25, 50, 75 and 95 %."""


@dataclass(frozen=True, slots=True)
class Overlay:
    """A chart of several drives.

    Attributes:
        kind: what it shows.
        chart: the same in words.
        lines: name and course of each, of a few.
        bands: of many.
    """

    kind: Kind
    chart: Chart
    lines: tuple[tuple[str, Course], ...]
    bands: tuple[Band, ...]


def points(drives: Sequence[Beside], kind: Kind) -> Mapping[str, list[float]]:
    """Return the values of all drives at the same `PLACES` places, each between its first and last point: `place`, `value`."""
    courses = [kind.of(drive.summary) for drive in drives]
    farthest = max((course.km[-1] for course in courses if course.km), default=0.0)
    places = np.linspace(0.0, farthest, PLACES)
    found: dict[str, list[float]] = {"place": [], "value": []}
    for course in courses:
        if len(course.km) < 2:
            continue
        inside = places[(places >= course.km[0]) & (places <= course.km[-1])]
        found["place"] += inside.tolist()
        found["value"] += np.interp(inside, course.km, course.values).tolist()
    return found


def overlay(drives: Sequence[Beside], kind: Kind, bands: Sequence[Band], units: ShownUnits) -> Overlay:
    """Return a chart of drives; `bands` count where there are many."""
    if len(drives) <= MANY:
        lines = tuple((each.name, kind.of(each.summary)) for each in drives if kind.of(each.summary).km)
        missing = "" if lines else f"No drive has a {kind.up.lower()} at a known distance."
        shows = f"{kind.title} of {_count(len(lines))}. " + " ".join(
            f"{name}: {_end(course, 0, kind, units)} to {_end(course, -1, kind, units)}."
            for name, course in lines
        )
        caption = (
            "A line each, ended by a disc; colour and style of line tell them apart, in the order of the key."
        )
        return Overlay(kind, Chart(kind.key, kind.title, shows.strip(), caption, missing), lines, ())
    kept = tuple(each for each in bands if each[1] >= LEAST_DRIVES)
    missing = (
        "" if kept else f"Fewer than {LEAST_DRIVES} drives have a {kind.up.lower()} at the same distance."
    )
    shows = f"{kind.title} of {_count(len(drives))}, as bands."
    if kept:
        first, last = kept[0], kept[-1]
        shows += " " + " ".join(
            f"At {_told(each[0], 'km', units)}: median {_told(each[4], kind.unit, units)}, half of the drives between "
            f"{_told(each[3], kind.unit, units)} and {_told(each[5], kind.unit, units)}."
            for each in (first, last)
        )
    caption = (
        "The line is the median, the dark band holds the middle half of the drives, the light one nine tenths. At each distance "
        f"only the drives that got so far count; the bands end where fewer than {LEAST_DRIVES} are left."
    )
    return Overlay(kind, Chart(kind.key, kind.title, shows, caption, missing), (), kept)


def _end(course: Course, index: int, kind: Kind, units: ShownUnits) -> str:
    return f"{_told(course.values[index], kind.unit, units)} at {_told(course.km[index], 'km', units)}"


def _told(value: float, unit: str, units: ShownUnits) -> str:
    figure = Figure(units.convert(value, unit), units.of(unit))
    return f"{number_text(figure.value, 0)} {figure.unit}"


def _count(count: int) -> str:
    return "1 drive" if count == 1 else f"{count} drives"
