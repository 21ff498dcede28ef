"""Charts along the distance: charge, projected and predicted range, altitude, consumption."""

from __future__ import annotations

from math import ceil
from typing import Any

import numpy as np

from logger.charts.axes import axis_name, from_zero, key_above, one_panel, spread, told
from logger.charts.look import BLUE, GREEN, INK, VERMILLION
from logger.core.geodesy import Floats
from logger.core.reporting import chart_words
from logger.core.reporting.chart_words import Along
from logger.core.reporting.figure_words import ShownUnits
from logger.core.results.series import Series

_WIDEST = 2.5
"""Bands further from the middle of the projections than these are projections themselves are cut at the edge."""


def charge(figure: Any, series: Series, units: ShownUnits, axis: Along) -> None:
    """Draw charge over distance."""
    shown = series.charge
    across = told(shown.distance_km, "km", units)
    axes = one_panel(figure, axis_name(axis.name, "km", units), "Charge (%)")
    axes.plot(
        across, shown.charge_pct, "-o", color=BLUE, markersize=_size(across), label="read off", clip_on=False
    )
    last = float(across.max())
    if series.reached_km is not None:
        reached = units.convert(series.reached_km, "km")
        axes.axvline(reached, linestyle="--", color=VERMILLION, label="0 % shown")
        last = max(last, reached)
    from_zero(axes, last)
    axes.set_ylim(0.0, max(10.0, 10.0 * ceil(float(shown.charge_pct.max()) / 10.0)))
    key_above(axes)


def projected(figure: Any, series: Series, units: ShownUnits, axis: Along) -> None:
    """Draw the range projected at each checkpoint with its band, the rule of thumb and what was reached."""
    shown = series.projected
    across = told(shown.distance_km, "km", units)
    middle = told(shown.range_km, "km", units)
    low, high = told(shown.low_km, "km", units), told(shown.high_km, "km", units)
    thumb = told(shown.rule_of_thumb_km, "km", units)
    axes = one_panel(
        figure, axis_name(axis.name, "km", units), axis_name("Projected range", "km", units), key_rows=2
    )
    axes.fill_between(across, low, high, color=BLUE, alpha=0.22, linewidth=0.0, label="95 % interval")
    size = _size(across)
    axes.plot(across, middle, "-o", color=BLUE, markersize=size, label="projected")
    axes.plot(across, thumb, "x", color=GREEN, markersize=size, markeredgewidth=1.4, label="rule of thumb")
    last = float(across.max())
    held = [middle]
    if series.reached_km is not None:
        reached = units.convert(series.reached_km, "km")
        axes.axhline(reached, linestyle="--", color=VERMILLION, label="reached")
        held.append(np.array([reached]))
        last = max(last, reached)
    from_zero(axes, last)
    _within(axes, np.concatenate(held), (low, high, thumb))
    key_above(axes, columns=2)


def _size(across: Floats) -> float:
    """Return how large markers are, in points: small enough that a hundred of them do not become a band."""
    return 4.5 if len(across) <= 40 else 2.8


def _within(axes: Any, held: Floats, others: tuple[Floats, ...]) -> None:
    """Show all that must be seen, and as much of the others as leaves it legible."""
    held = held[np.isfinite(held)]
    if not len(held):
        return
    middle = float(np.median(held))
    spread_of = max(float(held.max() - held.min()), 0.1 * abs(middle), 1.0)
    known = np.concatenate([each[np.isfinite(each)] for each in others] + [held])
    low = max(float(known.min()), float(held.min()) - _WIDEST / 5.0 * spread_of, 0.0)
    high = min(float(known.max()), float(held.max()) + _WIDEST / 5.0 * spread_of)
    room = 0.05 * max(high - low, 1.0)
    axes.set_ylim(max(0.0, low - room), high + room)


def predicted(figure: Any, series: Series, units: ShownUnits, axis: Along) -> None:
    """Draw what the dash predicted in all, and what was reached."""
    shown = series.predicted
    across, in_all = told(shown.distance_km, "km", units), told(shown.in_all_km, "km", units)
    axes = one_panel(figure, axis_name(axis.name, "km", units), axis_name("Driven plus left", "km", units))
    axes.plot(across, in_all, "-s", color=BLUE, label="by the dash")
    last, held = float(across.max()), in_all
    if series.reached_km is not None:
        reached = units.convert(series.reached_km, "km")
        axes.axhline(reached, linestyle="--", color=VERMILLION, label="reached")
        axes.fill_between(across, reached, in_all, color=BLUE, alpha=0.14, linewidth=0.0)
        held, last = np.append(in_all, reached), max(last, reached)
    from_zero(axes, last)
    spread(axes, held, least=0.1 * abs(float(np.median(in_all))))
    key_above(axes)


def altitude(figure: Any, series: Series, units: ShownUnits, axis: Along) -> None:
    """Draw the cleaned altitude."""
    shown = series.profile
    across, up = told(shown.distance_km, "km", units), told(shown.altitude_m, "m", units)
    axes = one_panel(figure, axis_name(axis.name, "km", units), axis_name("Altitude", "m", units), key_rows=0)
    axes.plot(across, up, color=INK)
    from_zero(axes, float(across.max()))
    spread(axes, up, least=units.convert(20.0, "m"))
    axes.fill_between(across, up, axes.get_ylim()[0], color=INK, alpha=0.1, linewidth=0.0)


def consumption(figure: Any, series: Series, units: ShownUnits, axis: Along) -> None:
    """Draw consumption by stretch, each with its interval."""
    values, low, high, unit = chart_words.consumption(series)
    begins, ends = (told(each, "km", units) for each in (series.stretches.from_km, series.stretches.to_km))
    axes = one_panel(figure, axis_name(axis.name, "km", units), axis_name("Consumption", unit, units))
    values, low, high = (told(each, unit, units) for each in (values, low, high))
    known = np.isfinite(low) & np.isfinite(high)
    if known.any():
        axes.bar(
            begins[known],
            (high - low)[known],
            (ends - begins)[known],
            low[known],
            align="edge",
            color=BLUE,
            alpha=0.22,
            linewidth=0.0,
            label="95 % interval",
        )
    axes.hlines(values, begins, ends, color=BLUE, linewidth=2.4, label="by stretch")
    from_zero(axes, float(ends.max()))
    spread(axes, np.concatenate([values, low, high]), least=0.2 * abs(float(np.median(values))))
    if axes.get_ylim()[0] < 0.0 <= float(values.min()):
        axes.set_ylim(bottom=0.0)
    key_above(axes)
