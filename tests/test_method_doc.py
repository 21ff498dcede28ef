"""docs/method.md tells the numbers the code has."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from logger.core import candidates, fusing, habits, jumps, live, readers, settling, strands, trusting
from logger.core.calibration import POCKETSPHINX_WEIGHT, Calibration, calibration_of
from logger.core.plausible import odds
from logger.core.plausible.courses import ASSUMED
from logger.core.plausible.strand import REACH
from logger.core.results import (
    air,
    air_density,
    blowing,
    car_load,
    climbing,
    closure,
    costs,
    course,
    ground,
    ground_spectrum,
    steadiness,
)
from logger.core.results.told import CLASSES
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
        (r"b_x\^2 / \(2 \* ([\d.]+)\^2\)", habits.HABIT_SD),
        (r"measured counted like (\d+) calls", trusting.MEASURED_CALLS),
        (r"up to (\d+) options more", readers.MOST_MORE),
        (r"together ([\d.]+) as likely as those with it", jumps.MISHEARD_ALIKE),
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


def test_the_numbers_usual_of_roads_and_receivers() -> None:
    """Each with the factor it may be off by."""
    told = list(rows("of a spectrum"))

    assert list(ground_spectrum.USUAL) == [float(usual.split()[0]) for _, usual, _ in told]
    assert list(ground_spectrum.SPREAD) == [float(spread) for *_, spread in told]


def test_the_numbers_of_cars() -> None:
    """How well each is known, and each class."""
    section = PAGE.split("### What conditions cost")[1].split("\n### ")[0]
    found = re.findall(r"^\| (\w+) \|((?: [\d.]+ \|)+)$", section, re.MULTILINE)
    told = {name: [float(cell) for cell in cells.strip(" |").split("|")] for name, cells in found}
    expected = {
        name: [
            100.0 * car_load.TOLD_SD[name],
            100.0 * car_load.ASSUMED_SD[name],
            *({**car_load.ANY_CAR, **car_load.CLASS_NUMBERS[each]}[name] for each in CLASSES),
        ]
        for name in car_load.ASSUMED_SD
    }

    assert {name: pytest.approx(numbers) for name, numbers in expected.items()} == told


@pytest.mark.parametrize(
    ("sentence", "number"),
    [
        (r"Slower than ([\d.]+) m/s for 5 s", course.STANDING_MPS),
        (r"m/s for ([\d.]+) s or more is a stop", course.LEAST_STOP_S),
        (r"right within ([\d.]+) % \(the distance by GPS", 100.0 * steadiness.DISTANCE_SHARE),
        (r"each within (\d+) m \(common practice", closure.POSITION_M),
        (r"ends are at most (\d+) % of it apart", 100.0 * closure.CLOSED_SHARE),
        (r"and at most (\d+) m in height", closure.CLOSED_CLIMB_M),
        (r"averaged in cells of (\d+) m;", ground.CELL_M),
        (r"more than (\d+) m off the median", ground.LEAP_M),
        (r"not known of them counts ([\d.]+) times", ground.END_FACTOR),
        (r"band from the last: ([\d.]+) standard", climbing.BAND_SDS),
        (r"profile, and no less than (\d+) m", climbing.LEAST_BAND_M),
        (r"variance is (\d+) times that between", climbing.ROADS_FACTOR),
        (r"plus that of ([\d.]+) of the dead band", climbing.BAND_SHARE),
        (r"\(p - e\) / \(([\d.]+) T\)", air_density.DRY_J_PER_KG_K),
        (r"e / \(([\d.]+) T\)", air_density.VAPOUR_J_PER_KG_K),
        (r"read off \(right within (\d+) K", air.READ_SD_K),
        (r"else the sheet's \((\d+) K for", air.TOLD_SD_K),
        (r"barometric formula \((\d+) hPa\)", air.PRESSURE_SD_PA / 100.0),
        (r"weather is within (\d+) hPa of it", air.WEATHER_SD_PA / 100.0),
        (r"tells no humidity, (\d+) % is assumed", air.ASSUMED_HUMIDITY_PCT),
        (r"is assumed \(within (\d+)\)", air.HUMIDITY_SD_PCT),
        (r"degC and ([\d.]+) kPa, dry, 1.16709", air.REFERENCE_PA / 1000.0),
        (r"has it: (\d+) degC and", air.REFERENCE_C),
        (r"Over cells of (\d+) m the headwind", course.CELL_M),
        (r"its mean by (\d+) % and", 100.0 * blowing.SPEED_SD),
        (r"% and ([\d.]+) m/s along", blowing.LEAST_SD_MPS),
        (r"each component by (\d+) % of the mean", 100.0 * blowing.WANDER_SD),
        (r"of the mean over (\d+) minutes", blowing.WANDER_S / 60.0),
        (r"and g = ([\d.]+) m/s2", air_density.GRAVITY_MPS2),
        (r"m/s2; ([\d.]+) counts the turning wheels", car_load.TURNING_MASS),
        (r"F0 is told within (\d+) %", 100.0 * car_load.TOLD_SD["road_load_f0"]),
        (r"F1 within (\d+) %", 100.0 * car_load.TOLD_SD["road_load_f1"]),
        (r"uneven speed costs is off by (\d+) % more", 100.0 * costs.SPEED_SD),
    ],
)
def test_the_numbers_of_speed_place_and_conditions(sentence: str, number: float) -> None:
    """Each is the constant of the code."""
    found = re.search(sentence, PAGE)

    assert found is not None, sentence
    assert pytest.approx(number) == float(found.group(1))
