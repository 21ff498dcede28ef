"""Results and what was recorded become a report, in the order that it is read."""

from __future__ import annotations

from dataclasses import replace

import pytest
from made_results import SECTIONS, observed, results
from told_drives import doubts, empty, recorded

from logger.core.reporting.figure_words import ShownUnits
from logger.core.reporting.making import report_of
from logger.core.reporting.report import Report

KM = ShownUnits("km")


@pytest.fixture(scope="module")
def report() -> Report:
    """A drive with doubts, decisions and a sheet."""
    seen = observed(
        doubts=doubts(),
        test={
            "car": "Pebble",
            "temperature_degC": 17,
            "wind_mps": 3.5,
            "plugged": False,
            "odometer_km": 12296,
        },
    )
    return report_of(results(seen, doubts=("One may change the range by 3 km.",)), recorded(), KM)


def test_conditions_stand_by_themselves(report: Report) -> None:
    """The section of conditions leaves the others."""
    assert ["Conditions"] == [each.title for each in report.conditions]
    assert ["Range"] == [each.title for each in report.sections]


def test_tables_of_conditions_come_later() -> None:
    """The wind's figures stand with the conditions, whatever place it has among the sections; its table does not."""
    wind = replace(SECTIONS[1], key="wind", title="Wind")
    made = report_of(results(sections=(wind, SECTIONS[0])), empty(), KM)
    assert [("Conditions", 0), ("Wind", 0)] == [(each.title, len(each.tables)) for each in made.conditions]
    assert [("Wind, in detail", 0, 1)] == [
        (each.title, len(each.lines), len(each.tables)) for each in made.sections
    ]


def test_figures_in_words(report: Report) -> None:
    """A figure has value, unit, interval and what that covers; an absent one only its why."""
    range_line, _, estimate, absent = report.answer.lines
    assert ("249.2", "km", "247.1 to 251.3") == (range_line.value, range_line.unit, range_line.interval)
    assert ("the dash's rounding of charge and trip", "By trip meter.") == (
        range_line.covers,
        range_line.remark,
    )
    assert (False, True) == (range_line.estimate, estimate.estimate)
    assert (
        "In all 3.1 mi." == report_of(results(doubts=("In all 5 km.",)), empty(), ShownUnits("mi")).doubts[0]
    )
    assert ("", "No predicted range was read off.") == (absent.value, absent.why)


def test_the_sheet_is_told_as_it_is(report: Report) -> None:
    """Words for keys, the sheet's own units behind numbers, yes and no."""
    assert (
        ("Car", "Pebble"),
        ("Temperature", "17 °C"),
        ("Wind", "3.5 m/s"),
        ("Plugged", "no"),
        ("Odometer", "12296 km"),
    ) == report.sheet


def test_facts(report: Report) -> None:
    """When it began, how long it was called out in, how many entries of each kind."""
    assert ("Began", "2031-05-03 07:00:00 UTC") == report.facts[0]
    assert ("Last entry after", "0:09:10") == report.facts[1]
    name, text = report.facts[2]
    assert "Entries" == name
    assert "3 in doubt" in text
    assert ("Track by GPS", "none") == report.facts[3]


def test_checkpoints(report: Report) -> None:
    """A row per call with time, distance and readings; doubt in words; places and ids are left to the log."""
    headers = [each.text for each in report.checkpoints.headers]
    assert [
        "After",
        "GPS distance (km)",
        "Charge (%)",
        "Trip (km)",
        "Range left (km)",
        "In doubt",
        "Note",
    ] == headers
    assert ("0:00:10", "0.3", "80", "42.1", "", "", "") == report.checkpoints.rows[0]
    assert "range left" == report.checkpoints.rows[-1][5]


def test_doubts_with_what_else_they_may_be(report: Report) -> None:
    """Each entry in doubt with its reason and its best alternatives."""
    row = report.doubtful.rows[0]
    assert ("5-1", "0:06:10", "charge 19 %") == row[:3]
    assert row[3]
    assert "90 %" in row[4]
    assert "odovox review loop" == report.settle


def test_decisions_with_who_when_and_why(report: Report) -> None:
    """A decision that was withdrawn says by which."""
    first, second = report.decisions.rows
    assert ("1", "2031-05-03 09:30:00", "Ada", "5-1") == first[:4]
    assert (
        "changed charge 19 % (in doubt) to charge 77 %, typed as '77': heard again (withdrawn by decision 2)"
        == first[4]
    )
    assert ("Ben", "withdrew decision 1: heard once more") == (second[2], second[4])


def test_a_drive_without_anything() -> None:
    """No entry, no condition, no decision: everything is there and empty."""
    made = report_of(results(sections=SECTIONS[1:]), empty(state=("It never ended.",)), KM)
    assert ((), (), ()) == (made.conditions, made.checkpoints.rows, made.decisions.rows)
    assert ("Entries", "none") in made.facts
    assert ("It never ended.",) == made.state
