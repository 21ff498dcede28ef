"""Intervals of figures: Student's t, the least squares line, and a normal value known to lie between two bounds. Pure."""

from __future__ import annotations

import math
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
    highest = np.max(np.where(weights > 0.0, means + _FAR * sds, -np.inf), axis=0)

    def beyond(values: Floats) -> Floats:
        shares = np.interp((means - values) / sds, _PLACES, _BELOW)
        return np.asarray(np.sum(weights * shares, axis=0))

    left = beyond(least)
    ends = []
    for share in (0.5, 0.975, 0.025):
        low, high = least, np.maximum(least, highest)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            further = beyond(middle) > share * left
            low, high = np.where(further, middle, low), np.where(further, high, middle)
        ends.append((low + high) / 2.0)
    return [Interval(*each) for each in zip(*(end.tolist() for end in ends), strict=True)]


_FAR = 8.0
_HALVINGS = 30
_PLACES = np.linspace(-_FAR, _FAR, 4001)
_BELOW = np.array([_NORMAL.cdf(each) for each in _PLACES.tolist()])
"""A table, because neither numpy nor Python has the distribution function for arrays; between its places it is right within 1e-6."""


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
