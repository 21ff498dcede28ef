"""The wind by leg, and what is said where it cannot be told."""

from __future__ import annotations

import numpy as np
import pytest
from simulated_drives import Noise, constant, drive
from tracked_drives import out_and_back, seen_of, straight

from logger.core.results.figures import Absent, Figure, Section
from logger.core.results.wind import wind
from logger.core.way import Way

MPH = 0.44704
NORTH = {"wind_mph": 10.0, "wind_from_deg": 0.0}


def figure(section: Section, key: str) -> Figure:
    """The figure, which there must be."""
    answer = section.answer(key)
    assert isinstance(answer, Figure)
    return answer


def test_out_against_it_and_back_with_it() -> None:
    """10 mph at 70 mph: +31 % out, -27 % back (common practice, shared/check-values.md, section 10), +2 % in all."""
    section = wind(seen_of(out_and_back(0.0, 40_000.0, 70 * MPH), NORTH, way=Way(None, 20.0)))
    (table,) = section.tables

    assert ("out", "back") == table.column("leg")
    assert pytest.approx([31, -27], abs=0.6) == [float(each) for each in table.column("drag")]  # type: ignore[arg-type]
    assert pytest.approx([4.47, -4.47], abs=0.02) == [float(each) for each in table.column("headwind")]  # type: ignore[arg-type]
    assert pytest.approx(2.04, abs=0.2) == figure(section, "drag").value
    assert pytest.approx(0.0, abs=0.05) == figure(section, "headwind").value
    assert figure(section, "headwind").estimate
    assert pytest.approx(4.4704) == figure(section, "speed").value


def test_laps_and_their_quarters() -> None:
    """Two and a half laps of a circle begun in its north, clockwise: the wind is against the quarters that go south-west to north-west."""
    lap_m = 2 * np.pi * 18_000.0
    fixes, driven = drive(constant(30.0), 2.5 * lap_m / 30.0, Noise(), step_s=2.0)
    seen = seen_of(fixes, {"wind_mps": 6, "wind_from_deg": 270}, way=Way(lap_m, 10.0))
    (table,) = wind(seen).tables

    names = table.column("leg")
    assert 2 + 8 + 1 + 2 == len(names)
    assert "lap 3, quarter 2" == names[-1]
    by_name = dict(zip(names, table.column("headwind"), strict=True))
    mean = 6.0 * 2.0 / np.pi
    for quarter, expected in ((1, -mean), (2, mean), (3, mean), (4, -mean)):
        assert pytest.approx(expected, abs=0.1) == float(by_name[f"lap 1, quarter {quarter}"])  # type: ignore[arg-type]
    assert pytest.approx(0.0, abs=0.05) == float(by_name["lap 2"])  # type: ignore[arg-type]
    ends = [float(each) for each in table.column("to_distance")]  # type: ignore[arg-type]
    assert pytest.approx(driven / 1000.0, rel=2e-3) == ends[-1]


def test_without_a_way_it_goes_by_quarters() -> None:
    """Which join."""
    (table,) = wind(seen_of(straight(20.0, range(0, 40_000, 25)), NORTH)).tables

    assert 4 == len(table.rows)
    assert table.column("from_distance")[1:] == table.column("to_distance")[:-1]


def test_notes_are_told_and_count_for_nothing() -> None:
    """They have no speed."""
    road = straight(20.0, range(0, 40_000, 25))
    section = wind(seen_of(road, NORTH, notes=[(60, "headwind"), (90, "wind shift"), (95, "rain")]))

    assert any(
        "headwind, wind shift" in remark and "nothing is computed" in remark for remark in section.remarks
    )
    assert not any("rain" in remark for remark in section.remarks)


@pytest.mark.parametrize(
    ("test", "fixed", "why"),
    [
        ({}, True, "tells no wind"),
        ({"wind_mps": 4}, True, "wind_from_deg"),
        (NORTH, False, "no track"),
    ],
)
def test_what_is_missing_is_said(test: dict[str, float], fixed: bool, why: str) -> None:  # noqa: FBT001
    """No direction, no wind, no track."""
    section = wind(seen_of(straight(20.0, range(0, 40_000, 25)) if fixed else None, test))

    answer = section.answer("headwind")
    assert isinstance(answer, Absent)
    assert why in answer.why
    assert () == section.tables
