"""Charts of several drives: a line each, or the bands that many lie in."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np

from logger.charts.axes import axis_name, from_zero, key_above, one_panel, told
from logger.charts.look import BLUE, GREEN, INK, VERMILLION
from logger.core.comparing.overlay import Overlay
from logger.core.reporting.figure_words import ShownUnits

STYLES = tuple(product(("-", "--", ":"), (BLUE, VERMILLION, GREEN, INK)))
"""Line style and colour of each drive in turn: twelve that differ."""
_LONGEST_NAME = 22
_COLUMNS = 3


def overlaid(figure: Any, shown: Overlay, units: ShownUnits) -> None:
    """Draw one chart of several drives."""
    rows = 1 if shown.bands else max(1, -(-len(shown.lines) // _COLUMNS))
    axes = one_panel(
        figure,
        axis_name("Distance", "km", units),
        axis_name(shown.kind.up, shown.kind.unit, units),
        key_rows=rows,
    )
    if shown.bands:
        last, top = _bands(axes, shown, units)
    else:
        last, top = _lines(axes, shown, units)
    from_zero(axes, last)
    axes.set_ylim(0.0, top * 1.05)
    key_above(axes, columns=_COLUMNS)


def _lines(axes: Any, shown: Overlay, units: ShownUnits) -> tuple[float, float]:
    """Draw a line each; return how far they reach across and up."""
    last = top = 1.0
    for (name, course), (line, colour) in zip(shown.lines, STYLES, strict=False):
        across = told(np.array(course.km), "km", units)
        up = told(np.array(course.values), shown.kind.unit, units)
        label = name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 1]}…"
        axes.plot(across, up, line, color=colour, label=label)
        axes.plot(across[-1:], up[-1:], "o", color=colour, clip_on=False)
        last, top = max(last, float(across.max())), max(top, float(up.max()))
    return last, top


def _bands(axes: Any, shown: Overlay, units: ShownUnits) -> tuple[float, float]:
    """Draw the bands; return how far they reach across and up."""
    rows = np.array(shown.bands, dtype=np.float64)
    across = told(rows[:, 0], "km", units)
    lowest, low, middle, high, highest = (told(each, shown.kind.unit, units) for each in rows[:, 2:].T)
    axes.fill_between(across, lowest, highest, color=BLUE, alpha=0.16, linewidth=0.0, label="nine tenths")
    axes.fill_between(across, low, high, color=BLUE, alpha=0.34, linewidth=0.0, label="middle half")
    axes.plot(across, middle, "-", color=INK, label="median")
    return float(across.max()), float(highest.max())
