"""How the figures of a report come about, in short, and where docs/method.md has the formulas. Data."""

from __future__ import annotations

from logger.core.reporting.report import MethodText

METHODS = (
    MethodText(
        "All meanings of all that was heard compete over the whole drive, and a reading is accepted only where one clearly wins.",
        "What becomes of a reading",
    ),
    MethodText(
        "Only readings that were accepted, or that a person decided, count for any figure; doubts count for none.",
        "What becomes of a reading",
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
