"""What the charts have in common: each axis says its unit, and keys cover nothing."""

from __future__ import annotations

from typing import Any

import pytest
from made_results import series
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from logger.charts import distances, speeds
from logger.charts.axes import axis_name, told
from logger.charts.drawing import _DRAWERS, _settings
from logger.core.reporting.chart_words import along
from logger.core.reporting.figure_words import ShownUnits
from logger.core.results.series import floats

KM, MI = ShownUnits("km"), ShownUnits("mi", "degF")
ALONG = [key for key in _DRAWERS if key != "way"]


def axes_of(key: str, units: ShownUnits) -> Any:
    """The axes of a chart, drawn once so that every text has its place."""
    with _settings():
        figure = Figure(figsize=(4.9, 3.35))
        _DRAWERS[key](figure, series(), units, along(by_gps=True))
        FigureCanvasAgg(figure).draw()
    return figure.axes[0]


@pytest.mark.parametrize("key", ALONG)
@pytest.mark.parametrize("units", [KM, MI], ids=["km", "mi"])
def test_axes_have_units_and_nothing_overlaps(key: str, units: ShownUnits) -> None:
    """Both axes end in a unit; key, labels and numbers stand inside the picture and clear of each other and of the panel."""
    axes = axes_of(key, units)
    across, up = axes.get_xlabel(), axes.get_ylabel()
    assert across.endswith(")")
    assert up.endswith(")")
    if key != "speed":
        assert f"({units.distances})" in across

    picture, panel = axes.figure.bbox, axes.get_window_extent()
    shown = {"across": axes.xaxis.label.get_window_extent(), "up": axes.yaxis.label.get_window_extent()}
    for name, axis, (first, last) in (("x", axes.xaxis, axes.get_xlim()), ("y", axes.yaxis, axes.get_ylim())):
        for tick in axis.get_major_ticks():
            if first <= tick.get_loc() <= last:
                shown[f"{name} {tick.label1.get_text()}"] = tick.label1.get_window_extent()
    shown |= {each.get_text(): each.get_window_extent() for each in axes.texts}
    if axes.get_legend() is not None:
        shown["key"] = axes.get_legend().get_window_extent()
    names = list(shown)
    for number, name in enumerate(names):
        box = shown[name]
        assert picture.x0 <= box.x0 <= box.x1 <= picture.x1, name
        assert picture.y0 <= box.y0 <= box.y1 <= picture.y1, name
        for other in names[number + 1 :]:
            assert not box.overlaps(shown[other]), (name, other)
    if "key" in shown:
        assert shown["key"].y0 >= panel.y1 - 1


def test_conversion_of_arrays() -> None:
    """Lines through two points: metres to feet, degrees with their offset."""
    assert pytest.approx([32.0, 212.0]) == told(floats((0.0, 100.0)), "degC", MI)
    assert pytest.approx([0.0, 1000.0]) == told(floats((0.0, 304.8)), "m", MI)
    assert "Altitude (ft)" == axis_name("Altitude", "m", MI)


def test_the_band_does_not_hide_the_line() -> None:
    """However wide the first intervals are, the projections and what was reached fill a good part of the panel."""
    low, high = axes_of("projected", KM).get_ylim()
    held = series().projected.range_km
    assert low <= held.min()
    assert held.max() <= high
    assert held.max() - held.min() > 0.25 * (high - low)
    assert distances.projected is _DRAWERS["projected"]


def test_standing_does_not_press_the_speeds_into_a_corner() -> None:
    """A few minutes of standing are told in words, and the speeds driven fill the panel."""
    axes = axes_of("speed", KM)
    assert 80.0 < axes.get_xlim()[0] < 90.0 < axes.get_xlim()[1] < 100.0
    assert ["not shown: 3 min slower, under 1 min faster"] == [each.get_text() for each in axes.texts]
    assert speeds.speed is _DRAWERS["speed"]
