"""How the distance driven goes on with the charge used: all readings of a rounded display, and a course that is not straight. Pure.

With `s` the points of charge used and D(s) the distance driven, in units of the kilometres that a point is good for:

    D(s) = level + s + wander(s) + bend(s)

Wander is the integral of a rate that comes and goes (wind, climb, traffic): a stationary Gaussian process with covariance
A^2 exp(-|s - t| / L). Bend is the integral of a rate that changes evenly over the drive (warming, a display that bends its charge),
of standard deviation BEND at 50 points from the middle. A and L are not known: they are averaged over a grid, weighted by how well the
readings of the drive go with each. So is how the driver calls: whenever, or when a new percent has just appeared.
docs/method.md has the formulas.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from logger.core.geodesy import Floats

AMPLITUDES: tuple[tuple[float, float], ...] = ((0.01, 1.0), (0.03, 1.0), (0.07, 1.0), (0.14, 1.0))
"""A, as a share of the rate, and its weight beforehand."""
LENGTHS: tuple[tuple[float, float], ...] = ((5.0, 1.0), (12.0, 1.0))
"""L in points of charge, and its weight beforehand."""
BEND = 0.03
"""Standard deviation of the even change of the rate over 50 points."""
AT_ANY_TIME = (0.0, 0.10, 0.29)
"""A driver who looks at any time: mean and standard deviation of what all readings are below the truth by, and of each one."""
AT_A_CHANGE = (0.42, 0.05, 0.06)
"""A driver who calls when a new percent has just appeared."""
FULL = (-0.25, 0.15)
"""A first reading of 100 % at rest: a full battery is never above it. Mean and standard deviation of truth less shown."""

_LEVEL_VARIANCE = 1e4
_RATE_VARIANCE = 1e2
_HALF = 50.0
_NEGLIGIBLE = 1e-3


@dataclass(frozen=True, slots=True)
class _Case:
    amplitude: float
    length: float
    habit: tuple[float, float, float]
    log_prior: float


def _cases() -> tuple[_Case, ...]:
    return tuple(
        _Case(a, length, habit, math.log(wa * wl))
        for (a, wa), (length, wl), habit in itertools.product(AMPLITUDES, LENGTHS, (AT_ANY_TIME, AT_A_CHANGE))
    )


@dataclass(frozen=True, slots=True)
class Estimate:
    """A distance in km, and its standard deviation."""

    km: float
    sd_km: float


@dataclass(eq=False)
class ChargeModel:
    """The course of charge over distance, given readings.

    Args:
        km: distance at each of n readings, from the first; shape (n,), n >= 2.
        shown: the charge shown there, in steps of the display; shape (n,). It has fallen over the drive.
        step: the display's step, in points.
        full: whether the first reading was of a full battery at rest.
    """

    km: Floats
    shown: Floats
    step: float
    full: bool

    def __post_init__(self) -> None:
        self._used = (self.shown[0] - self.shown) / self.step
        self._scale = 100.0 / self.step  # points of a whole battery, in steps of the display
        cases = _cases()
        self._cases = cases
        covariance = np.stack([self._covariance(self._used, self._used, case) for case in cases])
        count = len(self.km)
        noise = np.stack([self._noise(case) for case in cases])
        covariance += noise
        shift = np.stack([self._shift(case) for case in cases])
        self._factor = np.linalg.cholesky(covariance)
        right = np.stack(
            [
                np.broadcast_to(self.km - self.km[0], (len(cases), count)),
                shift,
                np.broadcast_to(self._used, (len(cases), count)),
            ],
            axis=-1,
        )
        # Columns: the distances; what the habit shifts them by, times the rate; the straight course.
        self._white = np.linalg.solve(self._factor, right)

    @cached_property
    def rates(self) -> Floats:
        """Kilometres that a point is good for, by the first and each reading; shape (n,), NaN where nothing was used."""
        with np.errstate(divide="ignore", invalid="ignore"):
            rate = (self.km - self.km[0]) / self._used
        return np.where((self._used > 0.0) & (rate > 0.0), rate, np.nan)

    @cached_property
    def _weights(self) -> NDArray[np.float64]:
        """How likely each case is after each reading; shape (cases, n)."""
        rate = self.rates
        diagonal = np.log(np.diagonal(self._factor, axis1=1, axis2=2))
        diagonal[:, :2] = 0.0  # level and rate are not known beforehand
        a, b = self._white[:, :, 0].copy(), self._white[:, :, 1].copy()
        a[:, :2] = b[:, :2] = 0.0
        saa, sab, sbb = (np.cumsum(x, axis=1) for x in (a * a, a * b, b * b))
        r = rate_filled(rate)
        log = -np.cumsum(diagonal, axis=1) - 0.5 * (saa / r**2 - 2.0 * sab / r + sbb)
        log += np.array([case.log_prior for case in self._cases])[:, None]
        log -= np.max(log, axis=0)
        weights = np.exp(log)
        return np.asarray(weights / np.sum(weights, axis=0))

    def at_each(self, shown: float) -> list[Estimate | None]:
        """Return the distance at which a charge first appears on the display, as after each reading; None where it cannot be told."""
        return self._told([(1.0, self._first(shown))], range(len(self.km)))

    def at(self, shown: float) -> Estimate | None:
        """Return the distance at which a charge first appears on the display, after all readings."""
        return self._told([(1.0, self._first(shown))], [len(self.km) - 1])[0]

    def between(self, above: float, below: float) -> Estimate | None:
        """Return the distance from where a charge first appears on the display to where a lower one does."""
        told = [(1.0, self._first(below)), (-1.0, self._first(above))]
        return self._told(told, [len(self.km) - 1])[0]

    def with_reading(self, km: float, shown: float) -> float | None:
        """Return where 0 % would appear with one more reading, by the likeliest case; None where it cannot be told."""
        index = int(np.argmax(self._weights[:, -1]))
        case, last = self._cases[index], len(self.km) - 1
        rate = float(self.rates[last])
        if not math.isfinite(rate):
            return None
        place = np.array([(self.shown[0] - shown) / self.step])
        target = np.array([self._first(0.0)])
        cross = np.stack(
            [self._covariance(place, self._used, case)[0], self._covariance(target, self._used, case)[0]],
            axis=-1,
        )
        cross[1:, 0] += case.habit[1] ** 2
        white = np.linalg.solve(self._factor[index], cross)
        data = self._white[index, :, 0] - rate * self._white[index, :, 1]
        own = float(self._covariance(place, place, case)[0, 0]) + case.habit[1] ** 2 + case.habit[2] ** 2
        off = km - self.km[0] + rate * case.habit[0] - float(white[:, 0] @ data)
        gain = float(self._covariance(place, target, case)[0, 0]) - float(white[:, 0] @ white[:, 1])
        at_zero = float(white[:, 1] @ data)
        return float(at_zero + gain / (own - float(white[:, 0] @ white[:, 0])) * off)

    def _first(self, shown: float) -> float:
        """Points used where a charge first appears: half a step above it, by the truth as the display means it."""
        return (float(self.shown[0]) - shown) / self.step - 0.5

    def _told(self, parts: Sequence[tuple[float, float]], after: Sequence[int]) -> list[Estimate | None]:
        means = np.full((len(self._cases), len(after)), np.nan)
        variances = np.zeros((len(self._cases), len(after)))
        kept = list(after)
        for index, case in enumerate(self._cases):
            if np.max(self._weights[index, kept]) < _NEGLIGIBLE:
                means[index] = 0.0
                continue
            places = np.array([s for _, s in parts])
            signs = np.array([sign for sign, _ in parts])
            cross = signs @ self._covariance(places, self._used, case)
            own = float(signs @ self._covariance(places, places, case) @ signs)
            white = np.linalg.solve(self._factor[index], cross)
            mean_km = np.cumsum(white * self._white[index, :, 0])[kept]
            mean_shift = np.cumsum(white * self._white[index, :, 1])[kept]
            means[index] = mean_km - rate_filled(self.rates)[kept] * mean_shift
            variances[index] = np.maximum(0.0, own - np.cumsum(white * white)[kept])
        weights = self._weights[:, kept]
        rate = rate_filled(self.rates)[kept]
        mean = np.sum(weights * means, axis=0)
        variance = np.sum(weights * (variances * rate**2 + (means - mean) ** 2), axis=0)
        known = np.isfinite(self.rates[kept])
        return [
            Estimate(float(m), math.sqrt(float(v))) if ok and math.isfinite(m + v) else None
            for m, v, ok in zip(mean, variance, known, strict=True)
        ]

    def _covariance(self, s: Floats, t: Floats, case: _Case) -> Floats:
        """Of the distance at points used, in units of the rate squared; shape (len(s), len(t))."""
        one, other = s[:, None], t[None, :]
        base = _LEVEL_VARIANCE + _RATE_VARIANCE * one * other
        length = case.length * self._scale / 100.0
        # The process begins somewhere before the first reading, so that a charge that rises a little has its place.
        from_s, to_s = one + _BEFORE, other + _BEFORE
        least = np.minimum(from_s, to_s)
        wander = 2.0 * least / length - 1.0 + np.exp(-from_s / length) + np.exp(-to_s / length)
        wander -= np.exp(-np.abs(from_s - to_s) / length)
        half = _HALF * self._scale / 100.0
        bend = (one * one / 2.0 - half * one) * (other * other / 2.0 - half * other) / half**2
        return np.asarray(base + (case.amplitude * length) ** 2 * wander + BEND**2 * bend)

    def _noise(self, case: _Case) -> Floats:
        _, shared_sd, own_sd = case.habit
        count = len(self.km)
        shared = np.full((count, count), shared_sd**2)
        shared[0, :] = shared[:, 0] = 0.0
        own = np.full(count, own_sd**2)
        own[0] = FULL[1] ** 2 if self.full else 1.0 / 12.0
        return shared + np.diag(own)

    def _shift(self, case: _Case) -> Floats:
        """By how many points more than shown the charge is; the distance then is so many rates less."""
        shift = np.full(len(self.km), -case.habit[0])
        shift[0] = -FULL[0] if self.full else 0.0
        return shift


_BEFORE = 5.0


def rate_filled(rates: Floats) -> Floats:
    """Return rates with 1 where there is none."""
    return np.where(np.isfinite(rates), rates, 1.0)
