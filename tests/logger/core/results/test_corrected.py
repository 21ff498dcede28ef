"""At reference conditions: with all there is, and with less."""

from __future__ import annotations

import math

import pytest
from tracked_drives import CAR, northwards, seen_of, straight

from logger.core.results.corrected import corrected, corrected_range
from logger.core.results.costs import Costs, costs_of
from logger.core.results.figures import Absent, Figure, Section

KNOWN = {**CAR, "usable_kwh": 60}


def figure(section: Section, key: str) -> Figure:
    """The figure, which there must be."""
    answer = section.answer(key)
    assert isinstance(answer, Figure)
    return answer


def test_consumption_and_range_go_by_one_ratio() -> None:
    """60 kWh over 300 km are 200 Wh/km; their product stays the usable energy."""
    seen = northwards(KNOWN, grade=0.01)
    section, costs = corrected(seen, 300.0), costs_of(seen)
    assert isinstance(costs, Costs)

    assert 200.0 == figure(section, "consumption").value
    fewer, farther = figure(section, "corrected_consumption"), figure(section, "corrected_range")
    assert pytest.approx(200.0 * costs.ratio.value) == fewer.value
    assert pytest.approx(60_000.0) == fewer.value * farther.value
    assert pytest.approx(farther.value / 3.0 - 100.0) == figure(section, "correction").value
    assert farther.low is not None
    assert farther.high is not None
    assert farther.low < farther.value < farther.high
    assert fewer.estimate
    assert farther.estimate
    assert "90.0 km/h held all the way" in section.remarks[0]


def test_the_ranges_own_error_is_carried() -> None:
    """2 % of the range beside what the correction does not know, added as squares."""
    seen = northwards(KNOWN)
    alone, both = (figure(corrected(seen, 300.0, sd), "corrected_consumption") for sd in (0.0, 6.0))
    assert alone.low is not None
    assert both.low is not None

    widths = [(each.value - (each.low or 0.0)) / 1.96 for each in (alone, both)]
    assert pytest.approx(math.hypot(widths[0], 0.02 * both.value)) == widths[1]
    assert "nor the range" in alone.covers
    assert "nor the range" not in both.covers


@pytest.mark.parametrize("range_km", [None, 300.0])
@pytest.mark.parametrize("test", [KNOWN, CAR, {}])
def test_the_range_alone_is_the_same(
    test: dict[str, str | int | float | bool], range_km: float | None
) -> None:
    """Worked out without the parts it is what it is with them, and for the same reason missing."""
    seen = northwards(test, grade=0.01)

    assert corrected(seen, range_km, 6.0).answer("corrected_range") == corrected_range(
        seen, range_km, 6.0
    ).answer("corrected_range")


@pytest.mark.parametrize("range_km", [None, 0.0, math.nan, math.inf, -3.0])
def test_without_a_range_the_percentage_stays(range_km: float | None) -> None:
    """The correction needs none."""
    section = corrected(northwards(KNOWN), range_km)

    assert figure(section, "correction").value
    for key in ("consumption", "corrected_consumption", "corrected_range"):
        assert isinstance(section.answer(key), Absent)


def test_without_usable_energy_the_range_is_corrected() -> None:
    """Consumption is not."""
    section = corrected(northwards(CAR), 300.0)

    assert figure(section, "corrected_range").value
    answer = section.answer("corrected_consumption")
    assert isinstance(answer, Absent)
    assert "usable_kwh" in answer.why


def test_what_is_not_known_is_not_corrected_and_said() -> None:
    """No wind, no air."""
    test = {key: value for key, value in KNOWN.items() if key.split("_")[0] not in {"wind", "temperature"}}
    section = corrected(northwards(test), 300.0)

    assert isinstance(section.answer("wind_correction"), Absent)
    assert isinstance(section.answer("air_correction"), Absent)
    assert any("not known: wind, air density" in remark for remark in section.remarks)


def test_without_a_car_nothing_is_corrected() -> None:
    """But what was driven is told."""
    section = corrected(seen_of(straight(0.0, range(0, 9_000, 25)), {"usable_kwh": 60}), 300.0)

    assert 200.0 == figure(section, "consumption").value
    assert all(isinstance(line.answer, Absent) for line in section.lines if line.key != "consumption")
