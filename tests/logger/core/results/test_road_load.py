"""What is told of costs: each an estimate with an interval, or why not; and how often simulated drives are within."""

from __future__ import annotations

import pytest
from rehearsed.covering import FIGURES, TUNING, covered
from rehearsed.weathered import Kind
from tracked_drives import CAR, northwards, seen_of, straight

from logger.core.results.figures import Absent, Figure
from logger.core.results.road_load import road_load


def test_every_figure_is_an_estimate_with_an_interval() -> None:
    """And says what it is against."""
    section = road_load(northwards(grade=0.01))

    assert 11 == len(section.lines)
    for line in section.lines:
        assert isinstance(line.answer, Figure)
        assert line.answer.estimate
        assert line.answer.low is not None
        assert line.answer.high is not None
        assert line.answer.low < line.answer.value < line.answer.high
        assert line.answer.covers
    air = section.answer("air_cost")
    assert isinstance(air, Figure)
    assert "98.21 kPa (SAE J2263)" in air.remark
    assert any("battery, cabin" in remark for remark in section.remarks)


def test_a_class_is_said() -> None:
    """As an assumption."""
    section = road_load(northwards({"class": "van", "temperature_degC": 10}))

    assert any("assumed for its class, van" in remark for remark in section.remarks)
    wind = section.answer("wind_cost")
    assert isinstance(wind, Absent)
    assert "tells no wind" in wind.why


def test_without_a_track_or_a_car() -> None:
    """Every figure says why."""
    for seen in (seen_of(None, CAR), seen_of(straight(0.0, range(0, 9_000, 25)))):
        assert all(isinstance(line.answer, Absent) for line in road_load(seen).lines)


@pytest.mark.parametrize("kind", [Kind(), Kind(by_class=True)], ids=["told", "class"])
def test_simulated_drives_lie_within(kind: Kind) -> None:
    """Of 20 drives with known truth at least 16 lie within each interval (95 % of many do: `make bench-conditions`)."""
    for name, found in covered(TUNING[:20], kind).items():
        assert found.covered >= 16, name
        # Nor are the intervals so wide that they could not miss.
        assert found.mean_width < 8.0 * found.rms_error, name
    assert "wind cost" in FIGURES
