"""The few figures that people ask for first. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from logger.core.results import bands, energy, meters, planning, predicted, projection, range_driven
from logger.core.results.basis import Basis
from logger.core.results.figures import Absent, Line, Section

KEY = "answer"
_ASKED = (
    (range_driven.KEY, "from_full", "Range from 100 % to 0 %"),
    (range_driven.KEY, "zero_by_gps", "Driven to 0 % shown, by GPS"),
    (range_driven.KEY, "zero_by_trip", "Driven to 0 % shown, by trip meter"),
    (range_driven.KEY, "past_zero_by_gps", "Driven past 0 %, by GPS"),
    (energy.KEY, "by_usable", "Efficiency by usable energy"),
    (energy.KEY, "shown_last", "Efficiency as the dash shows it"),
    (energy.KEY, "disagreement", "Shown consumption less that by usable energy"),
    (predicted.KEY, "off_at_start", "What the dash promised too much at the start"),
    (planning.KEY, "eighty_to_ten", "From 80 % to 10 %"),
    (planning.KEY, "eighty_to_ten_time", "Time from 80 % to 10 % at the test speed"),
)
"""Section, line and the name it has on top. Keys are those of the sections."""

SECTIONS: Mapping[str, Callable[[Basis], Section]] = MappingProxyType(
    {
        each.KEY: each.section
        for each in (range_driven, meters, energy, projection, predicted, bands, planning)
    }
)
"""What makes the sections of readings and distance by their keys, in the order they are told."""


def answer(basis: Basis, sections: Mapping[str, Section]) -> Section:
    """Return the few figures; how far it is projected comes in where 0 % was not reached."""
    lines = [Line(key, label, sections[section].answer(key)) for section, key, label in _ASKED]
    if isinstance(basis.zero, Absent):
        label = "Projected range, from where the drive began"
        lines.insert(1, Line("last", label, sections[projection.KEY].answer("last")))
    return Section(KEY, "The answer", tuple(lines), (), sections[range_driven.KEY].remarks)


def cautions(basis: Basis) -> tuple[str, ...]:
    """Return what whoever uses the figures must have read."""
    told = [
        "This is one drive of one car on one day: another day's wind, temperature, load and tyres give another range.",
        "What is left after 0 % differs from car to car and day to day, and power may go without warning: do not plan with it.",
        "Do not run a battery flat in traffic; leave fast roads before it is empty. Local law comes first.",
        "The dash counts energy from the battery; label figures and bills count it from the wall, with the loss of charging. Do not compare them as they are.",
    ]
    if isinstance(basis.zero, Absent) and basis.model is not None:
        told.insert(0, "0 % was not reached, so the range is a projection.")
    return tuple(told)
