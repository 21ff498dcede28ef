"""A reliability plot as SVG: how often entries are right against how sure odovox was of them, with 95 % intervals.

Both axes are in log-odds, since most entries lie beyond 99 %.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from rehearsed.shares import interval
from rehearsed.tallying import Bins

_TICKS = (0.01, 0.1, 0.5, 0.9, 0.99, 0.999, 0.9999)
_LEAST, _MOST = 0.004, 0.99996
"""Nearer to 0 and to 1 everything is drawn there: log-odds have no end."""
_LEFT, _TOP, _SIDE = 90.0, 40.0, 440.0
_APART, _EDGE = 5.0, 0.03
_COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7")
"""Okabe and Ito's, which the colour-blind can tell apart."""


def reliability_svg(series: Mapping[str, Bins], title: str) -> str:
    """Return the plot of one or a few series by name."""
    parts = [*_frame(title)]
    for number, (name, bins) in enumerate(series.items()):
        colour = _COLOURS[number % len(_COLOURS)]
        shift = _APART * (number - (len(series) - 1) / 2)
        parts += _points(bins, colour, shift)
        y = _TOP + 24 + 20 * number
        parts.append(f'<circle cx="{_LEFT + 20}" cy="{y - 4}" r="4" fill="{colour}"/>')
        count = sum(each.count for each in bins.bins)
        parts.append(_text(_LEFT + 32, y, f"{name} ({count} entries)", "start"))
    width, height = _LEFT + _SIDE + 30, _TOP + _SIDE + 60
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" width="{width:g}" '
        f'height="{height:g}" font-family="sans-serif" font-size="13">\n'
        f'<rect width="100%" height="100%" fill="white"/>\n' + "\n".join(parts) + "\n</svg>\n"
    )


def _points(bins: Bins, colour: str, shift: float) -> Iterator[str]:
    for each in bins.bins:
        if not each.count:
            continue
        x = _x(each.confidence / each.count) + shift
        low, high = interval(each.right, each.count)
        yield f'<path d="M{x:.1f} {_y(low):.1f}V{_y(high):.1f}" stroke="{colour}" stroke-width="1.5"/>'
        yield f'<circle cx="{x:.1f}" cy="{_y(each.right / each.count):.1f}" r="4" fill="{colour}"/>'
        yield _text(x + 6, _y(low) + 4, str(each.count), "start", colour)


def _frame(title: str) -> Iterator[str]:
    yield _text(_LEFT + _SIDE / 2, 24, title, "middle")
    yield f'<rect x="{_LEFT}" y="{_TOP}" width="{_SIDE}" height="{_SIDE}" fill="none" stroke="#888"/>'
    yield f'<path d="M{_LEFT} {_TOP + _SIDE}L{_LEFT + _SIDE} {_TOP}" stroke="#bbb" stroke-dasharray="4 4"/>'
    for tick in _TICKS:
        x, y, label = _x(tick), _y(tick), f"{100 * tick:g} %"
        yield f'<path d="M{x:.1f} {_TOP + _SIDE}v6M{_LEFT} {y:.1f}h-6" stroke="#888"/>'
        yield _text(x, _TOP + _SIDE + 20, label, "middle")
        yield _text(_LEFT - 10, y + 4, label, "end")
    yield _text(_LEFT + _SIDE / 2, _TOP + _SIDE + 45, "mean confidence of the entries", "middle")
    turned = _text(0, 0, "share of them that are right", "middle")
    yield f'<g transform="translate(18 {_TOP + _SIDE / 2}) rotate(-90)">{turned}</g>'


def _text(x: float, y: float, words: str, anchor: str, colour: str = "#222") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{colour}">{words}</text>'


def _x(share: float) -> float:
    return _LEFT + _SIDE * _along(share)


def _y(share: float) -> float:
    return _TOP + _SIDE * (1.0 - _along(share))


def _along(share: float) -> float:
    """Return where a share lies on an axis, 0 to 1."""
    least, most = _log_odds(_LEAST), _log_odds(_MOST)
    inside = (_log_odds(min(_MOST, max(_LEAST, share))) - least) / (most - least)
    return _EDGE + (1.0 - 2.0 * _EDGE) * inside


def _log_odds(share: float) -> float:
    return math.log(share / (1.0 - share))
