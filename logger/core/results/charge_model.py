"""How the distance driven goes on with the charge used: all readings of a rounded display, and a course that is not straight. Pure.

With `s` the points of charge used and D(s) the distance driven, in units of the kilometres that a point is good for:

    D(s) = level + s + sway(s) + height(s) + bend(s)

Sway is the integral of a rate that comes and goes with the way, as a wind does round a loop: covariance of the rate
A^2 exp(-|s - t| / (KEPT P)) cos(2 pi (s - t) / P). Height is what a climb has taken and a descent gives back: itself stationary, of
standard deviation H points and covariance of the Matern kind 5/2, as the height of a road has it (`ground_spectrum`), of two
lengths: long hills, and short ones on them. Bend is the integral of a rate that changes evenly over the drive (warming, a
display that bends its charge), by a standard deviation BEND at 50 points from the middle. A, P and H are not known: they are
averaged over a grid, weighted by how well the readings of the drive go with each. So is how the driver calls: whenever, or when
a new percent has just appeared. docs/method.md tells where the numbers come from.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from logger.core.geodesy import Floats
from logger.core.results.spread import Interval, mixed

SWAYS = (0.07, 0.18)
"""A, as a share of the rate."""
PERIODS = (20.0, 24.0, 29.0, 35.0, 42.0, 51.0, 64.0)
"""P, in points of charge."""
KEPT = 16.0
"""How many periods it takes for a sway to lose its beat."""
HEIGHTS = (0.12, 0.32, 0.9)
"""H, in points of charge: hills as they are, and a pass."""
LENGTH, SHORT_LENGTH = 4.0, 1.6
"""Of long hills and of short ones, in points of charge."""
SHORT = 0.18
"""Share of the height's variance that is of short hills."""
BEND = 0.022
"""Standard deviation of the even change of the rate over 50 points."""
AT_ANY_TIME = (0.0, 0.03, 0.29)
"""A driver who looks at any time: mean and standard deviation of what all readings are below the truth by, and of each one."""
AT_A_CHANGE = (0.42, 0.05, 0.04)
"""A driver who calls when a new percent has just appeared, some 10 s after it, give or take 5."""
HABITS = (AT_ANY_TIME, AT_A_CHANGE)
FULL, NEARLY_FULL, ANY_START = (-0.1, 0.17), (0.3, 0.2), (0.0, 0.29)
"""Truth less shown, mean and standard deviation, of a first reading of 100 %, which a full battery is never above; of 99 %, which is
mostly a full one on a display that rounds down; and of any other."""

_LEVEL_VARIANCE = 1e4
_RATE_VARIANCE = 1e2
_HALF = 50.0
_BEFORE = 5.0
"""The processes begin so many points before the first reading, so that a charge that rises a little has its place."""
_NEGLIGIBLE = 1e-3
_SMALL = 20
_NO_WEIGHT = 1e-300
_LEAST_SD_KM = 1e-6
_ENDLESS = 1e300
"""More variance than anything could tell of: a row with it takes nothing away from the others."""

_Parts: TypeAlias = tuple[tuple[float, float], ...]
"""Signs, and places in steps used: a sum of distances there."""


@dataclass(frozen=True, slots=True)
class _Case:
    sway: float
    period: int
    height: float
    habit: int


def _cases() -> tuple[_Case, ...]:
    """Return all cases; those of one habit follow each other."""
    return tuple(
        _Case(*each, habit)
        for habit in range(len(HABITS))
        for each in itertools.product(SWAYS, range(len(PERIODS)), HEIGHTS)
    )


_CASES = _cases()


def _shares() -> Floats:
    """Return how much of each of `_pieces` is in the covariances of a habit's cases; shape (cases, pieces)."""
    cases = _CASES[: len(_CASES) // len(HABITS)]
    shares = np.zeros((len(cases), 2 + len(PERIODS)))
    for number, case in enumerate(cases):
        shares[number, 0], shares[number, 1 + case.period], shares[number, -1] = (
            1.0,
            case.sway**2,
            case.height**2,
        )
    return shares


_SHARES = _shares()


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
        shown: the charge shown there, in points; shape (n,). It has fallen over the drive.
        step: the display's step, in points.
    """

    km: Floats
    shown: Floats
    step: float

    def __post_init__(self) -> None:
        self._used = (self.shown[0] - self.shown) / self.step
        self._points = 1.0 / self.step  # of the display, in one point of charge
        self._places = [self._by_habit(habit) for habit in HABITS]
        count, zero = len(self.km), np.array([self._first(0.0)])
        # One factor of all readings gives the estimates after each: row by row, what each says beyond those before it. And what a
        # factor has in a row below them is that row in the same terms; so the distances and 0 % come along in two more.
        whole = np.zeros((len(_CASES), count + 2, count + 2))
        driven = self.km - self.km[0]
        longest = max(
            1.0, float(np.max(np.abs(driven)))
        )  # however long a way was said to be, its square is a number
        whole[:, count, :count] = driven / longest
        whole[:, count, count] = whole[:, count + 1, count + 1] = _ENDLESS
        for number, (habit, places) in enumerate(zip(HABITS, self._places, strict=True)):
            of_habit = _of_habit(whole, number)
            of_habit[:, :count, :count] = _together(self._pieces(places, places)) + self._noise(habit)
            of_habit[:, count + 1, :count] = _together(self._pieces(zero, places))[:, 0]
        factor: Floats = np.asarray(np.linalg.cholesky(whole), dtype=np.float64)
        self._factor = factor[:, :count, :count]
        self._logs = np.log(np.diagonal(self._factor, axis1=1, axis2=2))
        self._white = factor[:, count, :count] * longest
        to_zero: _Parts = ((1.0, self._first(0.0)),)
        self._known: dict[_Parts, tuple[Floats, Floats]] = {
            to_zero: self._expected(to_zero, factor[:, count + 1, :count])
        }

    @cached_property
    def _whitener(self) -> Floats:
        """What makes anything that goes with the readings say what it says beyond those before; shape (cases, n, n)."""
        return inverse_of_lower(self._factor)

    @cached_property
    def rates(self) -> Floats:
        """Kilometres that a step is good for, by the first and each reading; shape (n,), NaN where nothing was used."""
        with np.errstate(divide="ignore", invalid="ignore"):
            rate = (self.km - self.km[0]) / self._used
        return np.where((self._used > 0.0) & (rate > 0.0), rate, np.nan)

    @cached_property
    def _rates(self) -> Floats:
        return np.where(np.isfinite(self.rates), self.rates, 1.0)

    @cached_property
    def _weights(self) -> NDArray[np.float64]:
        """How likely each case is after each reading; shape (cases, n)."""
        diagonal = self._logs.copy()
        diagonal[:, :2] = 0.0  # level and rate are not known beforehand
        squares = self._white**2
        squares[:, :2] = 0.0
        log = -np.cumsum(diagonal, axis=1) - 0.5 * np.cumsum(squares, axis=1) / self._rates**2
        weights = np.exp(log - np.max(log, axis=0))
        return np.asarray(weights / np.sum(weights, axis=0))

    def at_each(self, shown: float) -> list[Estimate | None]:
        """Return the distance at which a charge first appears on the display, as after each reading; None where it cannot be told."""
        return self._told(((1.0, self._first(shown)),), range(len(self.km)))

    def intervals(self, shown: float, after: Sequence[int], least_km: Floats) -> list[Interval | None]:
        """Return the median and the 95 % interval of where a charge first appears, known to lie beyond `least_km`.

        Args:
            shown: the charge.
            after: the readings after which it is told, by index; any may come again.
            least_km: where it has not appeared yet, for each of them.
        """
        weights, means, sds, known = self._parts(((1.0, self._first(shown)),), after)
        used = np.max(weights, axis=1) > 0.0
        told = mixed(weights[used], means[used], np.maximum(sds[used], _LEAST_SD_KM), least_km)
        return [interval if ok else None for interval, ok in zip(told, known.tolist(), strict=True)]

    def at(self, shown: float) -> Estimate | None:
        """Return the distance at which a charge first appears on the display, after all readings."""
        return self._told(((1.0, self._first(shown)),), [len(self.km) - 1])[0]

    def between(self, above: float, below: float) -> Estimate | None:
        """Return the distance from where a charge first appears on the display to where a lower one does."""
        told = ((1.0, self._first(below)), (-1.0, self._first(above)))
        return self._told(told, [len(self.km) - 1])[0]

    def with_reading(self, km: float, shown: float) -> float | None:
        """Return where 0 % would be expected to appear with one more reading; None where it cannot be told."""
        rate = float(self.rates[-1])
        if not math.isfinite(rate):
            return None
        used = (float(self.shown[0]) - shown) / self.step
        ends = [np.array([used - mean, self._first(0.0)]) for mean, _, _ in HABITS]
        shared, each = np.array([HABITS[case.habit][1:] for case in _CASES]).T ** 2
        to_readings = np.concatenate(
            [_together(self._pieces(places, end)) for end, places in zip(ends, self._places, strict=True)]
        )
        to_readings[:, 1:, 0] += shared[:, None]
        white = self._whitener @ to_readings
        expected = np.einsum("cnk,cn->ck", white, self._white)
        spread = np.concatenate([_together(self._pieces(end, end)) for end in ends])
        spread[:, 0, 0] += shared + each
        spread -= np.einsum("cnk,cnl->ckl", white, white)
        off = km - float(self.km[0]) - expected[:, 0]
        # The reading also tells which cases are likely; after one that is far off it is others than before.
        log = np.log(np.maximum(self._weights[:, -1], _NO_WEIGHT)) - 0.5 * np.log(spread[:, 0, 0])
        log -= 0.5 * off**2 / spread[:, 0, 0] / rate**2
        weights = np.exp(log - np.max(log))
        told = expected[:, 1] + spread[:, 0, 1] / spread[:, 0, 0] * off
        return float(weights @ told / np.sum(weights))

    def _first(self, shown: float) -> float:
        """Steps used where a charge first appears: half a step above it, by the truth as the display means it."""
        return (float(self.shown[0]) - shown) / self.step - 0.5

    def _told(self, parts: _Parts, after: Sequence[int]) -> list[Estimate | None]:
        weights, means, sds, known = self._parts(parts, after)
        mean = np.sum(weights * means, axis=0)
        sd = np.sqrt(np.sum(weights * (sds**2 + (means - mean) ** 2), axis=0))
        return [
            Estimate(m, s) if ok else None
            for m, s, ok in zip(mean.tolist(), sd.tolist(), known.tolist(), strict=True)
        ]

    def _parts(self, parts: _Parts, after: Sequence[int]) -> tuple[Floats, Floats, Floats, NDArray[np.bool_]]:
        """Return of each case after each reading its weight, what it expects and the standard deviation; and whether anything is known."""
        kept = list(after)
        weights, rate = self._weights[:, kept], self._rates[kept]
        weights = np.where(np.max(weights, axis=1, keepdims=True) >= _NEGLIGIBLE, weights, 0.0)
        weights /= np.sum(weights, axis=0)
        if parts not in self._known:
            self._known[parts] = self._expected(parts, self._whitened(parts))
        all_means, all_variances = self._known[parts]
        means, sds = all_means[:, kept], np.sqrt(all_variances[:, kept]) * rate
        known = np.isfinite(self.rates[kept]) & np.isfinite(np.sum(weights * (means**2 + sds**2), axis=0))
        return weights, means, sds, known

    def _whitened(self, parts: _Parts) -> Floats:
        """Return what each reading tells of a sum of places beyond those before it; shape (cases, n)."""
        signs, places = np.array(parts).T
        to_readings = np.concatenate(
            [signs @ _together(self._pieces(places, readings)) for readings in self._places]
        )
        return np.asarray((self._whitener @ to_readings[:, :, None])[:, :, 0])

    def _expected(self, parts: _Parts, white: Floats) -> tuple[Floats, Floats]:
        """Return what each case expects after each reading, in km, and its variance in rates squared; each of shape (cases, n)."""
        signs, places = np.array(parts).T
        own = np.tile(_together(self._pieces(places, places)) @ signs @ signs, len(HABITS))
        means = np.cumsum(white * self._white, axis=1)
        return means, np.maximum(0.0, own[:, None] - np.cumsum(white * white, axis=1))

    def _pieces(self, s: Floats, t: Floats) -> Floats:
        """Return what covariances of distance are put together of, in units of the rate squared; shape (pieces, len(s), len(t))."""
        one, other = s[:, None], t[None, :]
        half, before = _HALF * self._points, _BEFORE * self._points
        bend = (one * one / 2.0 - half * one) * (other * other / 2.0 - half * other) / half**2
        pieces = np.empty((2 + len(PERIODS), len(s), len(t)))
        pieces[0] = _LEVEL_VARIANCE + _RATE_VARIANCE * one * other + BEND**2 * bend
        for number, period in enumerate(PERIODS, start=1):
            decay = complex(1.0 / (KEPT * period), 2.0 * math.pi / period) / self._points
            pieces[number] = _integrated(one + before, other + before, decay)
        pieces[-1] = self._points**2 * _hills(np.abs(one - other) / self._points)
        return pieces

    def _by_habit(self, habit: tuple[float, float, float]) -> Floats:
        """Return the steps truly used at each reading, as is likeliest for a habit."""
        places: Floats = self._used - habit[0]
        places[0] = -start_of(float(self.shown[0]))[0] / self.step
        return places

    def _noise(self, habit: tuple[float, float, float]) -> Floats:
        _, shared_sd, own_sd = habit
        count = len(self.km)
        shared = np.full((count, count), shared_sd**2)
        shared[0, :] = shared[:, 0] = 0.0
        own = np.full(count, own_sd**2)
        own[0] = (start_of(float(self.shown[0]))[1] / self.step) ** 2
        return shared + np.diag(own)


def _of_habit(by_case: Floats, habit: int) -> Floats:
    """Return the part that the cases of a habit have in what is by cases."""
    return by_case[habit * len(_SHARES) : (habit + 1) * len(_SHARES)]


def _together(pieces: Floats) -> Floats:
    """Return the covariances of the cases of one habit, put together of pieces; shape (cases of a habit, n, m)."""
    _, count, other = pieces.shape
    return (_SHARES @ pieces.reshape(len(pieces), -1)).reshape(-1, count, other)


def start_of(shown: float) -> tuple[float, float]:
    """Return by how much the charge is truly more than a first reading shows, and the standard deviation of that, in points."""
    if shown >= 100.0:
        return FULL
    return NEARLY_FULL if shown >= 99.0 else ANY_START


def _hills(points: Floats) -> Floats:
    return (1.0 - SHORT) * _matern(points / LENGTH) + SHORT * _matern(points / SHORT_LENGTH)


def _matern(apart: Floats) -> Floats:
    away = math.sqrt(5.0) * apart
    return np.asarray((1.0 + away + away * away / 3.0) * np.exp(-away), dtype=np.float64)


def _integrated(s: Floats, t: Floats, decay: complex) -> Floats:
    """Return the covariance of the integrals from 0 to `s` and `t`, none below 0, of a process with covariance Re exp(-decay |s - t|)."""
    at_s, at_t = np.exp(-decay * s), np.exp(-decay * t)
    # exp(-decay |s - t|): charges keep this far from where it would overflow, and n + m exponentials serve for n m.
    apart = np.where(s >= t, at_s / at_t, at_t / at_s)
    ends = at_s + at_t - apart - 1.0
    return np.asarray((2.0 * np.minimum(s, t) / decay + ends / decay**2).real, dtype=np.float64)


def inverse_of_lower(lower: Floats) -> Floats:
    """Return the inverses of lower triangular matrices, shape (..., n, n): by halves, in a quarter of the time of any matrix's."""
    count = lower.shape[-1]
    if count <= _SMALL:
        return np.asarray(np.linalg.inv(lower))
    half = count // 2
    inverse = np.zeros_like(lower)
    first, last = inverse_of_lower(lower[..., :half, :half]), inverse_of_lower(lower[..., half:, half:])
    inverse[..., :half, :half], inverse[..., half:, half:] = first, last
    inverse[..., half:, :half] = -(last @ (lower[..., half:, :half] @ first))
    return inverse
