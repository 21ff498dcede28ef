"""What the charts have in common: axes with units, limits, and a key that covers nothing."""

from __future__ import annotations

from typing import Any

import numpy as np

from logger.core.geodesy import Floats
from logger.core.reporting.figure_words import ShownUnits, unit_text


def told(values: Floats, unit: str, units: ShownUnits) -> Floats:
    """Return values in the unit they are shown in; all conversions of charts are straight lines through what two points tell."""
    zero, one = units.convert(0.0, unit), units.convert(1.0, unit)
    return np.asarray(values * (one - zero) + zero, dtype=np.float64)


def axis_name(name: str, unit: str, units: ShownUnits) -> str:
    """Return what an axis is named: "Distance by GPS (km)"."""
    return f"{name} ({unit_text(units.of(unit))})"


def one_panel(figure: Any, across: str, up: str, *, key_rows: int = 1) -> Any:
    """Return the axes of a chart with one panel, named, with room above for so many rows of `key_above`."""
    # Places in inches: a layout worked out by matplotlib would draw everything twice.
    width, height = figure.get_size_inches()
    above = 0.12 + 0.24 * key_rows
    axes = figure.add_axes((0.78 / width, 0.5 / height, 1.0 - 0.95 / width, 1.0 - (0.5 + above) / height))
    axes.set_xlabel(across)
    axes.set_ylabel(up)
    return axes


def key_above(axes: Any, columns: int = 3) -> None:
    """Explain the marks above the panel, where nothing else is."""
    handles, labels = axes.get_legend_handles_labels()
    if handles:
        axes.legend(
            handles,
            labels,
            loc="lower left",
            bbox_to_anchor=(-0.12, 1.0),
            ncols=columns,
            borderaxespad=0.6,
            borderpad=0.1,
            columnspacing=1.1,
            handletextpad=0.5,
        )


def from_zero(axes: Any, last: float) -> None:
    """Let the axis across begin at 0 and end just past the last point."""
    axes.set_xlim(0.0, last * 1.03 if last > 0.0 else 1.0)


def spread(axes: Any, values: Floats, *, least: float) -> None:
    """Let the axis up hold all values with some room, and at least so much."""
    known = values[np.isfinite(values)]
    if not len(known):
        return
    low, high = float(known.min()), float(known.max())
    room = max(0.08 * (high - low), (least - (high - low)) / 2.0, 0.0)
    axes.set_ylim(low - room, high + room)
