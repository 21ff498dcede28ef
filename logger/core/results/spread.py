"""Intervals of figures: Student's t, the least squares line, and a normal value known to lie between two bounds. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from logger.core.geodesy import Floats
from logger.core.results.figures import Figure

_NORMAL = NormalDist()
Z95 = _NORMAL.inv_cdf(0.975)
"""A normal value lies within so many standard deviations in 95 of 100 cases."""


def t95(freedom: int) -> float:
    """Return the 97.5 % quantile of Student's t.

    Of one and two degrees of freedom exactly, else by Cornish and Fisher's expansion (Abramowitz and Stegun, 26.7.5, from memory),
    which is within 0.5 % of scipy's.

    Raises:
        ValueError: there is no degree of freedom.
    """
    if freedom < 1:
        raise ValueError("no degree of freedom")
    if freedom == 1:
        return math.tan(math.pi * 0.475)
    if freedom == 2:
        return 0.95 * math.sqrt(2.0 / (1.0 - 0.95**2))
    z, n = Z95, float(freedom)
    terms = (
        (z**3 + z) / 4.0,
        (5 * z**5 + 16 * z**3 + 3 * z) / 96.0,
        (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384.0,
        (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92_160.0,
    )
    return z + sum(term / n ** (power + 1) for power, term in enumerate(terms))


@dataclass(frozen=True, slots=True)
class Fitted:
    """A least squares line y = level + slope * x; `_sd` are standard errors, `residual_sd` that of the scatter about it."""

    slope: float
    slope_sd: float
    level: float
    level_sd: float
    residual_sd: float
    freedom: int


def line_through(x: Floats, y: Floats) -> Fitted | None:
    """Return the least squares line through n points, shapes (n,); None for fewer than three, or all at one x."""
    count = len(x)
    if count < 3:
        return None
    middle_x, middle_y = float(np.mean(x)), float(np.mean(y))
    off = x - middle_x
    spread = float(off @ off)
    if not spread > 0.0:
        return None
    slope = float(off @ (y - middle_y)) / spread
    level = middle_y - slope * middle_x
    rest = y - middle_y - slope * off
    sd = math.sqrt(float(rest @ rest) / (count - 2))
    return Fitted(
        slope=slope,
        slope_sd=sd / math.sqrt(spread),
        level=level,
        level_sd=sd * math.sqrt(1.0 / count + middle_x**2 / spread),
        residual_sd=sd,
        freedom=count - 2,
    )


@dataclass(frozen=True, slots=True)
class Interval:
    """A value and its 95 % interval."""

    value: float
    low: float
    high: float

    def plus(self, offset: float) -> Interval:
        """Return it moved by an offset."""
        return Interval(self.value + offset, self.low + offset, self.high + offset)

    def times(self, factor: float) -> Interval:
        """Return it multiplied by a factor above 0."""
        return Interval(self.value * factor, self.low * factor, self.high * factor)

    def under(self, dividend: float) -> Interval:
        """Return a dividend above 0 divided by it; its ends, all above 0, change places."""
        return Interval(dividend / self.value, dividend / self.high, dividend / self.low)

    def wider(self, sd: float) -> Interval:
        """Return it with another, independent error of a standard deviation added: half widths add in squares."""
        more = Z95 * sd
        return Interval(
            self.value,
            self.value - math.hypot(self.value - self.low, more),
            self.value + math.hypot(self.high - self.value, more),
        )

    def figure(self, unit: str, covers: str, *, estimate: bool = False, remark: str = "") -> Figure:
        """Return it as a figure."""
        return Figure(self.value, unit, self.low, self.high, covers, estimate, remark)


def normal(value: float, sd: float) -> Interval:
    """Return the interval of a normal value."""
    return Interval(value, value - Z95 * sd, value + Z95 * sd)


def mixed(weights: Floats, means: Floats, sds: Floats, least: Floats) -> list[Interval]:
    """Return the medians and the intervals of values, each known to be above `least` and else a mixture of normal ones.

    Args:
        weights: of each part in each of n mixtures, summing up to 1; shape (parts, n).
        means: of each part; shape (parts, n).
        sds: of each part, above 0; shape (parts, n).
        least: shape (n,).
    """
    scales = _PER_SD / sds
    middles = means * scales + _PLACES / 2.0
    above = weights * _below(middles - least * scales)[0]
    left = np.sum(above, axis=0)
    # What has no part in what is left beyond the least has none farther on. By mixtures, so that each is one piece.
    column, part = np.nonzero(~(_NO_PART * left[:, None] >= above.T))
    begins = np.searchsorted(column, np.arange(len(least)))
    weight, scale, middle = (each[part, column] for each in (weights, scales, middles))

    def beyond(values: Floats) -> tuple[Floats, Floats]:
        """Return the shares above values, and how quickly they fall there."""
        shares, rises = _below(middle - values[column] * scale)
        return np.add.reduceat(weight * shares, begins), np.add.reduceat(weight * scale * rises, begins)

    mean = np.sum(weights * means, axis=0)
    sd = np.sqrt(np.sum(weights * (sds**2 + (means - mean) ** 2), axis=0))
    highest = np.maximum(least, np.maximum.reduceat((means + _FAR * sds)[part, column], begins))
    ends = [
        _where(beyond, share * left, mean + out * sd, (least, highest), sd * _CLOSE)
        for share, out in ((0.5, 0.0), (0.975, -Z95), (0.025, Z95))
    ]
    return [Interval(*each) for each in zip(*(end.tolist() for end in ends), strict=True)]


def _where(
    beyond: Callable[[Floats], tuple[Floats, Floats]],
    goal: Floats,
    begin: Floats,
    bounds: tuple[Floats, Floats],
    close: Floats,
) -> Floats:
    """Return where a falling function has the values `goal`: by Newton's steps, and by halves where they lead out of what is possible."""
    low, high = bounds
    at = np.clip(begin, low, high)
    for _ in range(_MOST_STEPS):
        share, slope = beyond(at)
        off = share - goal
        low, high = np.where(off > 0.0, at, low), np.where(off > 0.0, high, at)
        with np.errstate(divide="ignore", invalid="ignore"):
            then = at + off / slope
        then = np.where((then >= low) & (then <= high), then, (low + high) / 2.0)
        then = np.where(off == 0.0, at, then)
        settled = not np.any(np.abs(then - at) > close)
        at = then
        if settled:
            break
    return np.asarray(at)


def _below(places: Floats) -> tuple[Floats, Floats]:
    """Return the normal distribution function at places in the table, and how much it rises there from one place to the next."""
    places = np.fmin(np.fmax(places, 0.0), _PLACES)
    at = places.astype(np.intp)
    rises = _RISES[at]
    return _BELOW[at] + (places - at) * rises, rises


_FAR = 8.0
_PLACES = 4000
_PER_SD = _PLACES / (2.0 * _FAR)
_BELOW = np.array([_NORMAL.cdf(each) for each in np.linspace(-_FAR, _FAR, _PLACES + 1).tolist()])
"""A table, because neither numpy nor Python has the distribution function for arrays; between its places it is right within 1e-6."""
_RISES = np.append(np.diff(_BELOW), 0.0)
_NO_PART = 1e-13
_CLOSE = 1e-9
_MOST_STEPS = 100


def between(mean: float, sd: float, low: float, high: float, below_low: float = 0.025) -> Interval:
    """Return the median and the interval of a normal value that is known to lie from `low` to `high`.

    Where the bounds are all that is known, as when the value is expected far outside them, it is taken for anywhere between.
    Of the 5 % outside the interval `below_low` are below it.
    """
    if not high > low:
        return Interval(low, low, low)
    if not sd > 0.0 or not math.isfinite(mean + sd):
        return _evenly(low, high, below_low)
    below, above = _NORMAL.cdf((low - mean) / sd), _NORMAL.cdf((high - mean) / sd)
    if above - below < _LEAST_SHARE:
        return _evenly(low, high, below_low)

    def quantile(share: float) -> float:
        return min(high, max(low, mean + sd * _NORMAL.inv_cdf(below + share * (above - below))))

    top = high if below_low >= 0.05 else quantile(0.95 + below_low)
    return Interval(quantile(0.5), quantile(below_low), top)


_LEAST_SHARE = 0.01


def _evenly(low: float, high: float, below_low: float) -> Interval:
    width = high - low
    return Interval(low + width / 2.0, low + below_low * width, low + min(1.0, 0.95 + below_low) * width)
