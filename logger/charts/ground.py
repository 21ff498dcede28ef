"""The way driven, on a plain map: north up, a scale bar, the checkpoints. Nothing of it comes from a map service."""

from __future__ import annotations

from itertools import pairwise
from math import ceil, floor, isfinite, log10
from typing import Any

import numpy as np

from logger.charts.look import BLUE, GREEN, INK, PAPER, VERMILLION
from logger.core.geodesy import Floats
from logger.core.reporting.chart_words import Along
from logger.core.reporting.figure_words import ShownUnits, number_text
from logger.core.results.series import Series

_KM_PER_DEGREE = 111.195
"""Of a great circle on a sphere of 6371 km: good to 0.5 %, more than a plain map shows."""
_MARGIN = 0.1
_LABEL_PT = (26.0, 11.0)
"""Room for a label such as "100 %", in points."""
_PLACES = ((1, 1), (-1, 1), (1, -1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1))
"""Where a label may stand beside its point, the best first: right or left, above or below."""

_FEW = 12
"""So many checkpoints are all named."""

Box = tuple[float, float, float, float]


def way(figure: Any, series: Series, units: ShownUnits, _: Along) -> None:
    """Draw the way and its checkpoints."""
    shown = series.way
    width, height = figure.get_size_inches()
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0 - 0.5 / height))
    axes.set_axis_off()
    centre = float(shown.lat_deg.mean()), float(shown.lon_deg[0])
    east, north = _flat(shown.lat_deg, shown.lon_deg, centre)
    at = _flat(shown.checkpoint_lat_deg, shown.checkpoint_lon_deg, centre)
    _frame(axes, east, north, width / (height - 0.5))
    axes.plot(east, north, color=INK, linewidth=1.3, label="driven")
    axes.plot(*at, "o", color=BLUE, markersize=5.0, markeredgecolor=PAPER, label="checkpoint")
    axes.plot(east[:1], north[:1], "^", color=GREEN, markersize=9.0, markeredgecolor=PAPER, label="start")
    axes.plot(
        east[-1:], north[-1:], "s", color=VERMILLION, markersize=7.0, markeredgecolor=PAPER, label="end"
    )
    _north_arrow(axes)
    taken = [*_scale_bar(axes, units), (0.88, 0.82, 1.0, 1.0)]
    _labels(axes, at, shown.checkpoint_charge_pct, taken, (east, north))
    axes.legend(
        loc="lower left",
        bbox_to_anchor=(0.0, 1.0),
        ncols=4,
        borderaxespad=0.3,
        columnspacing=1.1,
        handletextpad=0.4,
    )


def _flat(lat_deg: Floats, lon_deg: Floats, centre: tuple[float, float]) -> tuple[Floats, Floats]:
    """Return kilometres east and north of a place; a way over the 180th meridian stays in one piece."""
    turned = np.mod(lon_deg - centre[1] + 180.0, 360.0) - 180.0
    east = turned * _KM_PER_DEGREE * np.cos(np.radians(centre[0]))
    return east, (lat_deg - centre[0]) * _KM_PER_DEGREE


def _frame(axes: Any, east: Floats, north: Floats, shape: float) -> None:
    """Let the way fill the frame, one kilometre as long upwards as across; a way of no length has 1 km."""
    half_east = max(float(east.max() - east.min()) / 2.0, 0.5) * (1.0 + 2.0 * _MARGIN)
    half_north = max(float(north.max() - north.min()) / 2.0, 0.5) * (1.0 + 3.0 * _MARGIN)
    half_east, half_north = max(half_east, half_north * shape), max(half_north, half_east / shape)
    middle = float(east.max() + east.min()) / 2.0, float(north.max() + north.min()) / 2.0
    axes.set_xlim(middle[0] - half_east, middle[0] + half_east)
    # A little higher, so that the scale bar has room below.
    axes.set_ylim(middle[1] - 1.08 * half_north, middle[1] + 0.92 * half_north)


def _north_arrow(axes: Any) -> None:
    axes.annotate(
        "",
        (0.94, 0.985),
        (0.94, 0.89),
        xycoords="axes fraction",
        arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.5, "mutation_scale": 14},
    )
    axes.text(0.94, 0.88, "N", transform=axes.transAxes, ha="center", va="top", fontweight="bold")


def _scale_bar(axes: Any, units: ShownUnits) -> list[Box]:
    """Draw a bar of a round length, about a quarter of the map; return what it covers."""
    one = units.convert(1.0, "km")
    across = (axes.get_xlim()[1] - axes.get_xlim()[0]) * one
    length = round_length(across / 4.0)
    share = length / across
    axes.plot(
        [0.05, 0.05 + share],
        [0.06, 0.06],
        color=INK,
        linewidth=3.0,
        transform=axes.transAxes,
        solid_capstyle="butt",
    )
    places = max(0, -floor(log10(length)))
    text = f"{number_text(length, places)} {units.of('km')}"
    axes.text(0.05 + share / 2.0, 0.075, text, transform=axes.transAxes, ha="center", va="bottom")
    return [(0.03, 0.04, 0.07 + share, 0.14)]


def round_length(most: float) -> float:
    """Return the longest of 1, 2 and 5 times a power of ten that is not longer than `most`.

    >>> round_length(13.0), round_length(4.9), round_length(0.07)
    (10.0, 2.0, 0.05)
    """
    power = 10.0 ** floor(log10(most))
    return float(max(step for step in (1.0, 2.0, 5.0) if step * power <= most * (1.0 + 1e-9)) * power)


def _labels(
    axes: Any, at: tuple[Floats, Floats], charge_pct: Floats, taken: list[Box], driven: tuple[Floats, Floats]
) -> None:
    """Name the charge of the checkpoints that are worth it, as far as there is room."""
    size = axes.get_window_extent().size * 72.0 / axes.figure.dpi
    wide, high = _LABEL_PT[0] / size[0], _LABEL_PT[1] / size[1]
    spots, line = (
        axes.transAxes.inverted().transform(axes.transData.transform(np.column_stack(each)))
        for each in (at, driven)
    )
    taken = taken + [(x - 0.008, y - 0.008, x + 0.008, y + 0.008) for x, y in spots]
    taken += [(x - 0.02, y - 0.02, x + 0.02, y + 0.02) for x, y in (line[0], line[-1])]
    for index in worth_naming(charge_pct.tolist()):
        x, y = spots[index]
        for right, above in _PLACES:
            left = x + 0.012 if right > 0 else x - 0.012 - wide if right < 0 else x - wide / 2.0
            low = y + 0.012 if above > 0 else y - 0.012 - high if above < 0 else y - high / 2.0
            box = (left, low, left + wide, low + high)
            inside = box[0] > 0.0 and box[1] > 0.0 and box[2] < 1.0 and box[3] < 1.0
            if inside and not _crossed(box, line) and not any(_meet(box, other) for other in taken):
                align = {1: "left", -1: "right", 0: "center"}[right]
                place = box[0] if right > 0 else box[2] if right < 0 else x
                axes.text(
                    place, low + high / 2.0, f"{charge_pct[index]:.0f} %", transform=axes.transAxes,
                    ha=align, va="center", fontsize=9.0,
                )  # fmt: skip
                taken.append(box)
                break


def worth_naming(charge_pct: list[float]) -> list[int]:
    """Return which checkpoints to name, the foremost first: all of a few; of many the first, the last, and where tens were passed.

    >>> worth_naming([97.0, float("nan"), 95.0, 3.0])
    [0, 3, 2]
    """
    known = [index for index, charge in enumerate(charge_pct) if isfinite(charge)]
    if len(known) > _FEW:
        tens = [
            after
            for before, after in pairwise(known)
            if ceil(charge_pct[after] / 10.0) < ceil(charge_pct[before] / 10.0)
        ]
        known = sorted({known[0], *tens, known[-1]})
    return known[:1] + known[:0:-1][:1] + known[1:-1]


def _crossed(box: Box, line: Floats) -> bool:
    """Whether the way goes through a box; it has so many points that none of its pieces is longer than a label."""
    across, up = line[:, 0], line[:, 1]
    return bool(((across > box[0]) & (across < box[2]) & (up > box[1]) & (up < box[3])).any())


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
