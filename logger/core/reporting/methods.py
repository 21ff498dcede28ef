"""How the figures of a report come about, in short, and where docs/method.md has the formulas. Data."""

from __future__ import annotations

from logger.core.reporting.report import MethodText

METHODS = (
    MethodText(
        "All meanings of all that was heard compete over the whole drive, and a reading is accepted only where one clearly wins.",
        "What becomes of a reading",
    ),
    MethodText(
        "Only readings that were accepted, or that a person decided, count; those in doubt count for nothing, and what they may "
        "change is bounded by putting in each value they may have.",
        "What is in doubt",
    ),
    MethodText(
        "What counts is the last stretch without charging; distances begin where it does.",
        "Which part of the drive counts",
    ),
    MethodText(
        "0 % shown lies between the last reading above it and the first of it; range is told by GPS, trip meter and odometer apart.",
        "Range driven",
    ),
    MethodText(
        "Trip meter, odometer and speedometer are held against GPS by least squares.",
        "The car's own instruments",
    ),
    MethodText(
        "Consumption is told as the dash shows it, and from usable energy over distance; they are compared, not mixed.",
        "Energy",
    ),
    MethodText(
        "A projection is a model of the whole course of the charge, fitted to all readings until then, with the display's rounding "
        "and what the rest of the way may differ by in its interval.",
        "Projected range",
    ),
    MethodText(
        "Speeds are those of the track; stops and noted detours are cut out or counted, both told.",
        "Steadiness",
    ),
    MethodText(
        "Climb is counted on an altitude of which the receiver's noise was estimated and taken out.",
        "Altitude",
    ),
    MethodText("Air density follows from temperature, pressure and humidity.", "Air"),
    MethodText("A noted wind is laid along the way driven.", "Wind"),
    MethodText(
        "What wind, climb, air and uneven speed cost is the road-load equation with and without each, by the car's numbers on the "
        "sheet or a class of cars: an estimate.",
        "What conditions cost",
    ),
    MethodText(
        "95 % intervals were held against simulated drives whose truth is known.",
        "How often the intervals hold",
    ),
)
"""The sentences, in the order told; a test holds the headings against docs/method.md, whose numbers may change."""
