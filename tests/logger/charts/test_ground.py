"""The map: true to scale, with labels that cover neither each other nor the way. Outside: geographiclib for lengths."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from made_results import NO_SERIES, series
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from logger.charts.drawing import _settings
from logger.charts.ground import round_length, way, worth_naming
from logger.core.reporting.chart_words import along
from logger.core.reporting.figure_words import ShownUnits
from logger.core.results.series import Series, WaySeries, floats

KM = ShownUnits("km")


def axes_of(shown: Series, units: ShownUnits = KM) -> Any:
    """The map's axes, drawn once."""
    with _settings():
        figure = Figure(figsize=(4.9, 4.4))
        way(figure, shown, units, along(by_gps=True))
        FigureCanvasAgg(figure).draw()
    return figure.axes[0]


def test_labels_are_clear() -> None:
    """No label covers another, a checkpoint or the way; first and last are named; most others too."""
    axes = axes_of(series())
    charges = [each for each in axes.texts if each.get_text().endswith("%")]
    assert len(charges) >= 10
    assert {"97 %", "1 %"} <= {each.get_text() for each in charges}
    boxes = [each.get_window_extent() for each in axes.texts if each.get_text()]
    points = np.concatenate([axes.transData.transform(line.get_xydata()) for line in axes.lines[:2]])
    for number, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[number + 1 :])
        assert not box.count_contains(points)


def test_scale_and_north() -> None:
    """A kilometre is as long upwards as across, and the bar is as long as it says."""
    axes = axes_of(series())
    x0, x1, y0, y1 = *axes.get_xlim(), *axes.get_ylim()
    frame = axes.get_window_extent()
    assert pytest.approx((x1 - x0) / frame.width, rel=1e-6) == (y1 - y0) / frame.height
    bar = next(line for line in axes.lines if line.get_transform() == axes.transAxes)
    share = float(bar.get_xdata()[1] - bar.get_xdata()[0])
    text = next(each.get_text() for each in axes.texts if each.get_text().endswith(" km"))
    assert pytest.approx(float(text.removesuffix(" km"))) == share * (x1 - x0)
    assert "N" in [each.get_text() for each in axes.texts]

    shown = series().way
    east_west = (
        Geodesic.WGS84.Inverse(45.0, float(shown.lon_deg.min()), 45.0, float(shown.lon_deg.max()))["s12"]
        / 1000
    )
    drawn = axes.lines[0].get_xdata()
    assert pytest.approx(east_west, rel=0.005) == float(drawn.max() - drawn.min())


def test_a_way_over_the_180th_meridian_stays_in_one_piece() -> None:
    """Ten kilometres are not drawn as the way round the Earth."""
    lon = floats(tuple(179.95 + 0.01 * k if k < 5 else -180.05 + 0.01 * k for k in range(10)))
    nothing = floats(())
    axes = axes_of(
        Series(
            **{**vars_of(NO_SERIES), "way": WaySeries(floats((0.0,) * 10), lon, nothing, nothing, nothing)}
        )
    )
    drawn = axes.lines[0].get_xdata()
    assert pytest.approx(0.09 * 111.2, rel=0.01) == float(drawn.max() - drawn.min())


def test_bars_have_round_lengths() -> None:
    """1, 2 and 5 by powers of ten."""
    assert [0.5, 1.0, 2.0, 5.0, 100.0] == [round_length(each) for each in (0.99, 1.0, 4.99, 9.0, 199.0)]


def test_which_checkpoints_are_named() -> None:
    """All of a few; of many the ends first, then where a ten was passed."""
    assert [0, 11, *range(1, 11)] == worth_naming([100.0 - k for k in range(12)])
    many = [97.0 - 1.5 * k for k in range(40)]
    named = worth_naming(many)
    assert [0, 39] == named[:2]
    assert [97.0, 38.5, 89.5, 79.0, 70.0, 59.5, 49.0, 40.0] == [many[index] for index in named]
    assert [] == worth_naming([float("nan")])
    assert [0] == worth_naming([50.0])


def vars_of(shown: Series) -> dict[str, Any]:
    """A record's members."""
    return {name: getattr(shown, name) for name in Series.__dataclass_fields__}
