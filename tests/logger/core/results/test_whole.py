"""All results together: of rehearsed drives, and of drives in which something is missing."""

from __future__ import annotations

import time

import pytest
from driven_out import driven_out

from logger.core.results.figures import Absent, Figure
from logger.core.results.observed import Observed, observed
from logger.core.results.whole import work_out
from logger.model import Drive


def nothing() -> Observed:
    """A drive of which nothing is known."""
    return observed(Drive(0, ""), [], None, test={}, way=None, distances="km")


def test_a_drive_to_empty() -> None:
    """The range by GPS and by trip meter, and the efficiency, are what the car truly did."""
    drive = driven_out(20_000)
    results = work_out(drive.seen)
    by_gps = results.section("range").answer("zero_by_gps")
    by_usable = results.section("energy").answer("by_usable")

    assert isinstance(by_gps, Figure)
    assert by_gps.value == pytest.approx(drive.truth.zero_km, rel=0.01)
    assert isinstance(by_usable, Figure)
    assert by_usable.value == pytest.approx(drive.truth.wh_per_km, rel=0.01)
    assert results.series.reached_km == by_gps.value


def test_nothing_known() -> None:
    """Each figure says why there is none."""
    results = work_out(nothing())

    for section in (results.answer, *results.sections):
        for line in section.lines:
            assert isinstance(line.answer, Absent), line
            assert line.answer.why.endswith(".")
    assert len(results.cautions) >= 4


def test_sections_by_key() -> None:
    """Sections are found by key, and their keys and those of their lines are unique."""
    results = work_out(nothing())
    keys = [section.key for section in results.sections]

    assert len(keys) == len(set(keys))
    for section in results.sections:
        assert section is results.section(section.key)
        lines = [line.key for line in section.lines]
        assert len(lines) == len(set(lines))
    with pytest.raises(KeyError):
        results.section("no such")


def test_it_is_quick() -> None:
    """A drive of hours takes far less than a third of a second."""
    seen = driven_out(20_001).seen
    work_out(seen)
    began = time.perf_counter()
    work_out(seen)

    assert time.perf_counter() - began < 0.3
