"""The report for programs: valid by its schema, in base units whatever is shown, free of NaN. Outside: jsonschema."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker
from made_results import NO_SERIES, observed, results
from told_drives import HOSTILE, doubts, empty, hostile, hostile_section, recorded

from logger.core.reporting.figure_words import ShownUnits
from logger.core.reporting.making import Recorded
from logger.core.reporting.report_json import report_json
from logger.core.results.whole import Results

SCHEMA = json.loads(
    (Path(__file__).resolve().parents[4] / "logger" / "cli" / "report.schema.json").read_text(
        encoding="utf-8"
    )
)
MI = ShownUnits("mi", "degF")


def parsed(made: Results, told: Recorded, units: ShownUnits = MI) -> dict[str, Any]:
    """The report's JSON, read strictly and held against the schema."""

    def no_such_number(text: str) -> None:
        raise AssertionError(text)

    line = report_json(made, told, units)
    assert "\n" not in line
    found: dict[str, Any] = json.loads(line, parse_constant=no_such_number)
    Draft202012Validator(SCHEMA, format_checker=FormatChecker()).validate(found)
    return found


def test_the_schema_is_one_and_refuses() -> None:
    """It is valid itself, and notices a member too many, one too few and a text for a number."""
    Draft202012Validator.check_schema(SCHEMA)
    good = parsed(results(), recorded())
    figure = good["answer"]["figures"][0]
    for wrong in ({"value": "249.2"}, {"more": 1}):
        broken = json.loads(json.dumps(good))
        broken["answer"]["figures"][0] = figure | wrong
        assert not Draft202012Validator(SCHEMA).is_valid(broken)
    assert not Draft202012Validator(SCHEMA).is_valid({key: good[key] for key in good if key != "series"})


def test_base_units_and_shown_ones() -> None:
    """`value` is in base units for comparing, `shown` what people read."""
    first, _, _, absent = parsed(results(), recorded())["answer"]["figures"]

    assert (249.2, 247.1, 251.3, "km") == tuple(first[key] for key in ("value", "low", "high", "unit"))
    assert "154.8 mi (95 %: 153.5 to 156.2)" == first["shown"]["text"]
    assert pytest.approx(249.2 / 1.609344) == first["shown"]["value"]
    assert {"key", "label", "why"} == set(absent)


def test_tables_have_named_cells() -> None:
    """A row is an object by the names of its columns; numbers stay numbers, what is absent is null."""
    table = parsed(results(), recorded())["sections"][1]["tables"][0]

    assert "charge_bands" == table["key"]
    assert {"from_pct": 100, "to_pct": 90, "distance_km": 24.9, "remark": None} == table["rows"][0]


def test_doubts_decisions_and_series() -> None:
    """What is in doubt, who decided what, and what the charts show."""
    made = parsed(results(observed(doubts=doubts()), doubts=("It may change the range.",)), recorded())

    assert not made["settled"]
    assert "5-1" == made["doubtful_entries"][0]["entry_id"]
    assert ("Ada", 2) == (made["decisions"][0]["who"], made["decisions"][0]["withdrawn_by"])
    assert 30 == len(made["series"]["charge"]["charge_pct"])
    assert 249.0 == made["series"]["reached_km"]


def test_a_drive_without_anything() -> None:
    """Is valid too."""
    made = parsed(results(shown=NO_SERIES), empty(state=("It never ended.",)))
    assert made["settled"]
    assert [] == made["series"]["way"]["lat_deg"]
    assert ["It never ended."] == made["drive"]["state"]


def test_hostile_text_is_a_string() -> None:
    """It comes out as it went in."""
    made = parsed(results(sections=(hostile_section("x"),), doubts=(HOSTILE,)), hostile())
    assert HOSTILE == made["sections"][0]["title"] == made["doubts"][0] == made["decisions"][0]["why"]
