"""docs/method.md tells the numbers the code has."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from logger.core import candidates, fusing, live, readers, settling, strands, trusting
from logger.core.calibration import POCKETSPHINX_WEIGHT, Calibration, calibration_of
from logger.core.plausible import odds
from logger.core.plausible.courses import ASSUMED
from logger.core.plausible.strand import REACH
from logger.wiring.choosing import UNHEARD

PAGE = (Path(__file__).resolve().parents[1] / "docs" / "method.md").read_text(encoding="utf-8")


def rows(heading: str) -> Iterator[list[str]]:
    """Yield the rows of the table whose first column is headed so."""
    lines = iter(PAGE.splitlines())
    for line in lines:
        if line.startswith(f"| {heading} |"):
            break
    next(lines)
    for line in lines:
        if not line.startswith("|"):
            return
        yield [cell.strip() for cell in line.strip("|").split("|")]


def test_the_assumed_courses() -> None:
    """Every course and each of its numbers."""
    told = {}
    for name, *numbers, along in rows("quantity"):
        told[name.split()[0]] = ([float(number) for number in numbers], along)
    expected = {
        name: (
            [
                course.span,
                course.slope,
                course.slope_sd,
                course.wander,
                course.jitter,
                course.tail,
                course.tail_sds,
            ],
            "h" if course.by_time else "km",
        )
        for name, course in ASSUMED.items()
        if name != "clock"
    }

    assert expected == told


def test_the_calibrations() -> None:
    """Each recogniser's temperature and what it does not list; a name nobody knows gets the last row."""
    for name, temperature, unlisted in rows("recogniser"):
        assert Calibration(float(temperature), float(unlisted)) == calibration_of(name)


@pytest.mark.parametrize(
    ("sentence", "number"),
    [
        (r"one reading more weighs ([\d.]+) of", candidates.ANOTHER_READING),
        (r"one digit more ([\d.]+) \(", candidates.ANOTHER_DIGIT),
        (r"told twice in one breath ([\d.]+)\.", candidates.SAID_TWICE),
        (r"at most (\d+), and", readers.MOST_OPTIONS),
        (r"\| anything \| ([\d.]+) \|", odds.ANYTHING),
        (r"back from it \| ([\d.]+) \|", odds.ANOTHER_CAR),
        (r"from the first (\d+) calls: they", trusting.LEARNED_FROM),
        (r"PocketSphinx's weighed ([\d.]+);", POCKETSPHINX_WEIGHT),
        (r"w/0\.35\)\^2 / \(2 \* ([\d.]+)\^2\) -", trusting.WEIGHT_SD),
        (r"\(ln k\)\^2 / \(2 \* ([\d.]+)\^2\)", trusting.SHARPNESS_SD),
        (r"lacks gets from it (\d+) less", UNHEARD),
        (r"at most (\d+) less than its best", fusing.MOST_UNHEARD),
        (r"a descent\) \| ([\d.]+) \*", odds.CLIMBED_BACK),
        (r"charge up, nothing noted \| ([\d.]+) \*", odds.CHARGED),
        (r"trip reset, nothing noted \| ([\d.]+) \*", odds.RESET),
        (r"back over at most (\d+) readings", REACH),
        (r"those at least ([\d.]+) likely\)", strands.TRUSTED),
        (r"a probability of at least ([\d.]+),", settling.ACCEPTED),
        (r"on the newest (\d+) calls", live.WINDOW),
        (r"N\(\(1 \+ b\) v, ([\d.]+)\^2", odds.SPEED_SD_KMH),
    ],
)
def test_the_numbers_in_the_text(sentence: str, number: float) -> None:
    """Each is the constant of the code."""
    found = re.search(sentence, PAGE)

    assert found is not None, sentence
    assert number == float(found.group(1))
