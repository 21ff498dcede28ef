"""docs/formats.md lists every figure and table of the results, and docs/method.md tells the numbers they are worked out with."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import results_page
from driven_out import REPORT, TUNING

from logger.core.results import (
    bands,
    basis,
    charge_model,
    doubtful,
    energy,
    laps,
    meters,
    predicted,
    projection,
    range_driven,
    rulers,
    stretch,
)

DOCS = Path(__file__).resolve().parents[1] / "docs"
METHOD = (DOCS / "method.md").read_text(encoding="utf-8")


def test_every_figure_is_listed() -> None:
    """The part of docs/formats.md is what the sections give; `make docs` writes it."""
    assert results_page.part() in results_page.PAGE.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("sentence", "number"),
    [
        (r"is ([\d.]+) points or more above the least", stretch.CHARGED_POINTS),
        (r"a random walk, ([\d.]+) km times the square root", rulers.GPS_DRIFT),
        (r"The share of ([\d.]+) left out", basis.LATE),
        (r"\(0 where it showed less than ([\d.]+) km\)", range_driven.RESET_KM),
        (r"deviation of ([\d.]+) % of what is added", range_driven.MISSING_SD * 100.0),
        (r"Below ([\d.]+) % at the start nothing", range_driven.LEAST_CHARGE_TO_SCALE),
        (r"At least three readings, ([\d.]+) km apart", rulers.LEAST_SPAN_KM),
        (r"where the car goes ([\d.]+) km/h or more", meters.LEAST_SPEED_KMH),
        (r"read off after ([\d.]+) % of the way", energy.LATE * 100.0),
        (r"else that of the last charge \(([\d.]+)\)", energy.POINT_SD),
        (r"and ([\d.]+) x b \(1 - b/100\)", energy.BEND_SD),
        (r"A\^2 exp\(-t / \(([\d.]+) P\)\)", charge_model.KEPT),
        (r", L = ([\d.]+) points, K", charge_model.LENGTH),
        (r"points, K = ([\d.]+) \|", charge_model.SHORT_LENGTH),
        (r"H\^2 \(([\d.]+) m\(t / L\)", 1.0 - charge_model.SHORT),
        (r"\+ ([\d.]+) m\(t / K\)", charge_model.SHORT),
        (r"standard deviation ([\d.]+) at 50 points", charge_model.BEND),
        (r"and (\d+) km; before that", basis.LEAST_DRIVEN_KM),
        (r"Of more than (\d+) charges", basis.MOST_READINGS),
        (r"read off ([\d.]+) m or more higher or lower", projection.TELLING_M),
        (r"\*Close\* means within ([\d.]+) %", projection.CLOSE * 100.0),
        (r"within the first ([\d.]+) % of the way", predicted.EARLY * 100.0),
        (r"under ([\d.]+) % over the drive is called steady", predicted.TELLING_PCT),
        (r"comes within ([\d.]+) m of the start", laps.NEAR_START_KM * 1000.0),
        (r"deviation of ([\d.]+) points for the difference", bands.LEG_SD),
        (r"the GPS walk of 8.2: a slope over a random walk has (\d)/5", rulers.WALK_IN_SLOPE * 5.0),
    ],
)
def test_the_numbers_in_the_text(sentence: str, number: float) -> None:
    """Each is the constant of the code."""
    found = re.search(sentence, METHOD)

    assert found is not None, sentence
    assert pytest.approx(number) == float(found.group(1))


@pytest.mark.parametrize(
    ("row", "numbers"),
    [
        ("A, share of the rate", charge_model.SWAYS),
        ("P, points", charge_model.PERIODS),
        ("H, points", charge_model.HEIGHTS),
        ("at any time", charge_model.AT_ANY_TIME),
        ("at a change", charge_model.AT_A_CHANGE),
        ("the first, 100 %", charge_model.FULL),
        ("the first, 99 %", charge_model.NEARLY_FULL),
        ("the first, any other", charge_model.ANY_START),
    ],
)
def test_the_numbers_in_the_tables(row: str, numbers: tuple[float, ...]) -> None:
    """Each row of the grid and of the roundings."""
    (line,) = re.findall(rf"^\| {re.escape(row)} \|(.*)\|$", METHOD, re.MULTILINE)

    assert list(numbers) == [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", line)]


def test_how_often_a_range_is_worked_out_again() -> None:
    """As many times as the page says, and as many suggestions."""
    assert (4, 4) == (doubtful.MOST_RUNS, doubtful.MOST_ALTERNATIVES)
    assert "four times at the most" in METHOD
    assert "its first four alternatives" in METHOD


def test_report_drives_are_no_tuning_drives() -> None:
    """What constants are chosen on is never what is reported."""
    assert not set(TUNING) & set(REPORT)
    assert len(REPORT) >= 500
    assert f"{len(REPORT)} invented cars" in METHOD
