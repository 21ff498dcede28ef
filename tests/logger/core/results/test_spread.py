"""Intervals and the least squares line.

Outside: NIST's certified values for the Norris data (Statistical Reference Datasets), which ship in scipy's wheel, scipy's
Student t and its truncated normal distribution.
"""

from __future__ import annotations

import importlib.resources
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from logger.core.geodesy import Floats
from logger.core.results.spread import Z95, Interval, between, line_through, mixed, normal, t95


def norris() -> tuple[np.ndarray, np.ndarray]:
    """The 36 points of NIST StRD Norris; the file's columns are y, x."""
    text = (
        importlib.resources.files("scipy.stats")
        .joinpath("tests/data/nist_linregress/Norris.dat")
        .read_text(encoding="utf-8")
    )
    rows = [[float(cell) for cell in line.split()] for line in text.splitlines()[60:96]]
    y, x = np.array(rows).T
    return x, y


def test_the_line_against_nist() -> None:
    """NIST StRD Norris, certified: both coefficients with their standard deviations, and the residual standard deviation."""
    line = line_through(*norris())

    assert line is not None
    assert pytest.approx(1.00211681802045, rel=1e-12) == line.slope
    assert pytest.approx(0.429796848199937e-03, rel=1e-9) == line.slope_sd
    assert pytest.approx(-0.262323073774029, rel=1e-9) == line.level
    assert pytest.approx(0.232818234301152, rel=1e-9) == line.level_sd
    assert pytest.approx(0.884796396144373, rel=1e-9) == line.residual_sd
    assert 34 == line.freedom


@pytest.mark.parametrize("x", [[1.0, 2.0], [3.0, 3.0, 3.0]])
def test_no_line(x: list[float]) -> None:
    """Two points leave no scatter to judge by, and points at one place no slope."""
    assert line_through(np.array(x), np.array(x)) is None


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 7, 12, 34, 1000])
def test_student_against_scipy(freedom: int) -> None:
    """The quantile is scipy's within 0.2 %."""
    assert pytest.approx(float(stats.t.ppf(0.975, freedom)), rel=2e-3) == t95(freedom)


def test_student_without_freedom() -> None:
    """No degree of freedom is no interval."""
    with pytest.raises(ValueError, match="freedom"):
        t95(0)


@given(mean=st.floats(-3.0, 3.0), sd=st.floats(0.3, 3.0), low=st.floats(-2.0, 1.0), width=st.floats(0.5, 3.0))
def test_between_bounds_against_scipy(mean: float, sd: float, low: float, width: float) -> None:
    """A normal value between two bounds: median and 95 % interval are those of scipy's truncnorm, where the bounds hold 1 % of it."""
    high = low + width
    inside = float(stats.norm.cdf(high, mean, sd) - stats.norm.cdf(low, mean, sd))
    told = between(mean, sd, low, high)
    if inside < 0.011:
        assert low <= told.low <= told.value <= told.high <= high
        return
    expected = stats.truncnorm.ppf([0.5, 0.025, 0.975], (low - mean) / sd, (high - mean) / sd, mean, sd)

    assert pytest.approx(expected.tolist(), abs=1e-6) == [told.value, told.low, told.high]


@pytest.mark.parametrize(("mean", "sd"), [(99.0, 0.1), (0.5, math.inf), (0.5, 0.0)])
def test_only_the_bounds_are_known(mean: float, sd: float) -> None:
    """A mean far outside, or no notion of one, leaves anywhere between the bounds."""
    assert Interval(0.5, 0.025, 0.975) == between(mean, sd, 0.0, 1.0)


def test_bounds_that_meet() -> None:
    """Where nothing lies between the bounds, the value is theirs."""
    assert Interval(2.0, 2.0, 2.0) == between(0.0, 1.0, 2.0, 2.0)


def test_a_normal_value() -> None:
    """95 % of a normal value."""
    assert pytest.approx(1.959964, rel=1e-6) == Z95  # Abramowitz and Stegun table 26.1, from memory
    assert Interval(10.0, pytest.approx(8.04004), pytest.approx(11.95996)) == normal(10.0, 1.0)


@pytest.mark.parametrize("least", [-1e3, 95.0, 101.0])
def test_a_mixture_of_one(least: float) -> None:
    """One part alone is the truncated normal distribution of scipy."""
    one = np.ones((1, 1))
    (told,) = mixed(one, 100.0 * one, 3.0 * one, np.array([least]))
    expected = stats.truncnorm((least - 100.0) / 3.0, np.inf, loc=100.0, scale=3.0)

    assert pytest.approx(expected.ppf([0.5, 0.025, 0.975]), abs=1e-3) == (told.value, told.low, told.high)


def test_a_mixture_of_a_narrow_and_a_wide_part() -> None:
    """2.5 % of the mixture, by scipy's distribution, lie beyond each end; two mixtures at once do not meet; a weight of 0 is nothing."""
    weights = np.array([[0.7, 0.0], [0.3, 1.0]])
    means, sds = np.array([[100.0, 5.0], [104.0, 50.0]]), np.array([[1.0, 1.0], [6.0, 2.0]])
    both, wide = mixed(weights, means, sds, np.array([-1e3, -1e3]))

    for end, share in ((both.low, 0.025), (both.value, 0.5), (both.high, 0.975)):
        below = weights[:, 0] @ stats.norm.cdf((end - means[:, 0]) / sds[:, 0])
        assert pytest.approx(share, abs=1e-5) == below
    assert pytest.approx((50.0, 46.08), abs=1e-2) == (wide.value, wide.low)


def test_many_mixtures_at_once() -> None:
    """Of mixtures of narrow and wide parts, far apart and cut anywhere, the ends are where scipy's root finder has them."""
    rng = np.random.default_rng(6)
    weights = rng.dirichlet(np.full(9, 0.3), 40).T
    means, sds = rng.normal(300.0, 40.0, (9, 40)), np.exp(rng.normal(1.0, 1.5, (9, 40)))
    least = np.sum(weights * means, axis=0) + rng.uniform(-80.0, 5.0, 40)

    for number, told in enumerate(mixed(weights, means, sds, least)):
        part, mean, sd = weights[:, number], means[:, number], sds[:, number]

        def above(value: float, part: Floats = part, mean: Floats = mean, sd: Floats = sd) -> float:
            return float(part @ stats.norm.sf((value - mean) / sd))

        left = above(least[number])
        for share, end in ((0.975, told.low), (0.5, told.value), (0.025, told.high)):
            found = optimize.brentq(lambda value: above(value) - share * left, least[number], 2_000.0)  # noqa: B023
            assert pytest.approx(found, abs=0.01) == end


def test_far_above_all_that_was_expected() -> None:
    """What is known to lie beyond all that was expected lies there."""
    one = np.ones((1, 1))

    assert [Interval(5.0, 5.0, 5.0)] == mixed(one, -5.0 * one, one, np.array([5.0]))


def test_arithmetic_of_intervals() -> None:
    """Moved, multiplied, divided by, and widened by an independent error: half widths in squares."""
    one = Interval(10.0, 8.0, 14.0)

    assert Interval(11.0, 9.0, 15.0) == one.plus(1.0)
    assert Interval(20.0, 16.0, 28.0) == one.times(2.0)
    assert Interval(10.0, pytest.approx(100.0 / 14.0), 12.5) == one.under(100.0)
    wide = one.wider(1.5 / Z95)
    assert (pytest.approx(10.0 - 2.5), pytest.approx(10.0 + math.hypot(4.0, 1.5))) == (wide.low, wide.high)
