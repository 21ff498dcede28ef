"""The chart of speeds: how long the car went how fast."""

from __future__ import annotations

from typing import Any

import numpy as np

from logger.charts.axes import axis_name, key_above, one_panel, told
from logger.charts.look import BLUE, PAPER, SOFT, VERMILLION
from logger.core.geodesy import Floats
from logger.core.reporting.chart_words import Along
from logger.core.reporting.figure_words import ShownUnits
from logger.core.results.series import Series

_SHOWN = 0.92
"""The chart is as wide as so much of the time needs; what was driven faster or slower is told in words, or a few minutes of
standing would press all that matters into one corner."""


def speed(figure: Any, series: Series, units: ShownUnits, _: Along) -> None:
    """Draw the time driven at each speed, and the target."""
    shown = series.speed
    lower = told(shown.lower_kmh, "km/h", units)
    width = units.convert(shown.width_kmh, "km/h")
    minutes = shown.seconds / 60.0
    target = None if shown.target_kmh is None else units.convert(shown.target_kmh, "km/h")
    axes = one_panel(figure, axis_name("GPS speed", "km/h", units), "Time (min)", key_rows=2)
    axes.bar(lower, minutes, width, align="edge", color=BLUE, edgecolor=PAPER, linewidth=0.5, label="driven")
    if target is not None:
        axes.axvline(target, linestyle="--", color=VERMILLION, label="target")
    first, last = _limits(lower, minutes, width, target)
    axes.set_xlim(first, last)
    axes.set_ylim(0.0, float(minutes.max()) * 1.05)
    axes.grid(visible=False, axis="x")
    key_above(axes)
    slower, faster = float(minutes[lower < first].sum()), float(minutes[lower >= last].sum())
    told_beyond = [
        f"{spent:.0f} min {way}" if spent >= 1.0 else f"under 1 min {way}"
        for spent, way in ((slower, "slower"), (faster, "faster"))
        if spent > 0.0
    ]
    if told_beyond:
        axes.text(
            1.0, 1.12, "not shown: " + ", ".join(told_beyond), transform=axes.transAxes, ha="right",
            va="bottom", fontsize=8.5, color=SOFT,
        )  # fmt: skip


def _limits(lower: Floats, minutes: Floats, width: float, target: float | None) -> tuple[float, float]:
    """Return the ends of the axis: the bins that hold the middle part of the time, the target, and room for three bins."""
    share = np.cumsum(minutes) / minutes.sum()
    aside = (1.0 - _SHOWN) / 2.0
    first = float(lower[int(np.searchsorted(share, aside))])
    last = float(lower[min(int(np.searchsorted(share, 1.0 - aside)), len(lower) - 1)]) + width
    if target is not None:
        first, last = min(first, target), max(last, target)
    return max(first - 3.0 * width, 0.0), last + 3.0 * width
