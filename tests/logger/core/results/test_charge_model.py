"""The course of charge over distance: straight ones to the kilometre, its covariances against numbers found otherwise.

Outside: scipy's numerical integration; the kriging of a straight line with noise is the weighted least squares line, worked out by numpy.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.special import gamma, kv

from logger.core.results import charge_model
from logger.core.results.charge_model import ChargeModel, start_of

KM_A_POINT = 4.2


def straight(last: int, *, first: int = 99, every: int = 1) -> ChargeModel:
    """A display that falls evenly, each percent called as it appears: 98 at 1 point used and so on; the first at rest."""
    shown = np.arange(first, last - 1, -every, dtype=np.float64)
    km = np.concatenate(([0.0], (first + start_of(first)[0] - shown[1:] - 0.5) * KM_A_POINT))
    return ChargeModel(km, shown, 1.0)


def test_a_straight_course() -> None:
    """Half way down, the end of a straight course is told within 1 %, and the truth lies well within its interval."""
    model = straight(50)
    told = model.at_each(0.0)[-1]
    truth = (99.0 + start_of(99.0)[0] - 0.5) * KM_A_POINT

    assert told is not None
    assert truth == pytest.approx(told.km, rel=0.01)
    assert abs(truth - told.km) < told.sd_km


def test_between_charges() -> None:
    """80 to 10 % of a course read down to 5 % is 70 points, within a tenth of one."""
    told = straight(5).between(80.0, 10.0)

    assert told is not None
    assert pytest.approx(70.0 * KM_A_POINT, abs=0.1 * KM_A_POINT) == told.km
    assert told.sd_km < 0.3 * KM_A_POINT


def test_it_comes_closer() -> None:
    """The more was read, the narrower the interval."""
    told = straight(5).at_each(0.0)
    widths = [told[index].sd_km for index in (10, 30, 60, 90) if told[index] is not None]

    assert sorted(widths, reverse=True) == widths
    assert told[0] is None


def test_after_each_is_what_was_read_until_then() -> None:
    """What is told after a reading is the same whether or not more was read later: nothing of it is known beforehand."""
    long, short = straight(5).at_each(0.0), straight(50).at_each(0.0)
    index = len(short) - 1
    long_then, short_then = long[index], short[index]

    assert long_then is not None
    assert short_then is not None
    assert pytest.approx(short_then.km, rel=1e-4) == long_then.km
    assert pytest.approx(short_then.sd_km, rel=1e-2) == long_then.sd_km


def test_distances_scale() -> None:
    """In other units of distance everything is the same number of them: nothing is assumed of kilometres."""
    model = straight(40)
    longer = ChargeModel(model.km * 1.609344, model.shown, 1.0)
    one, other = model.at(0.0), longer.at(0.0)

    assert one is not None
    assert other is not None
    assert pytest.approx((one.km * 1.609344, one.sd_km * 1.609344)) == (other.km, other.sd_km)


@pytest.mark.parametrize("shown", [49.0, 47.0])
def test_one_reading_more(shown: float) -> None:
    """Adding a reading, usual or far off, by the short way comes to nearly what the model of all readings says."""
    model = straight(50)
    more = ChargeModel(np.append(model.km, model.km[-1] + 6.0), np.append(model.shown, shown), 1.0)
    told = model.with_reading(float(model.km[-1]) + 6.0, shown)
    expected = more.at(0.0)

    assert expected is not None
    assert told is not None
    assert pytest.approx(expected.km, rel=0.01) == told


@pytest.mark.parametrize(("s", "t"), [(1.0, 1.0), (2.0, 5.0), (7.0, 3.0)])
def test_the_integrated_covariance(s: float, t: float) -> None:
    """The covariance of two integrals is the double integral of the rate's covariance, by scipy's quadrature."""
    period, kept = 9.0, 1.5
    decay = complex(1.0 / (kept * period), 2.0 * np.pi / period)

    def rate(u: float, v: float) -> float:
        return float(np.exp(-decay * abs(u - v)).real)

    # In two parts, so that the kink on the diagonal lies on an edge.
    below = dblquad(rate, 0.0, s, 0.0, lambda u: min(u, t), epsabs=1e-9)[0]
    above = dblquad(rate, 0.0, s, lambda u: min(u, t), t, epsabs=1e-9)[0]
    told = charge_model._integrated(np.array([[s]]), np.array([[t]]), decay)  # noqa: SLF001

    assert pytest.approx(below + above, rel=1e-6) == float(told[0, 0])


def test_a_charge_that_comes_back() -> None:
    """A point or two regained on a descent is no reason to fail."""
    shown = np.array([100.0, 99.0, 98.0, 99.0, 100.0, 97.0, 96.0, 95.0])
    model = ChargeModel(np.arange(8) * 4.0, shown, 1.0)

    assert model.at(0.0) is not None
    assert model.at_each(0.0)[4] is None
    above = np.array([-2.0, 3.0])  # points used: two were regained right after the start
    for sway in model._pieces(above, above)[1:-1]:  # noqa: SLF001
        assert np.all(np.linalg.eigvalsh(sway) > 0.0)


def test_zero_is_told_as_any_other_charge() -> None:
    """0 % is worked out with the readings, any other charge when it is asked for: side by side they are the same."""
    model = straight(20)
    zero, nearly = model.at_each(0.0), model.at_each(1e-9)

    assert len(zero) == len(nearly)
    for one, other in zip(zero[5:], nearly[5:], strict=True):
        assert one is not None
        assert other is not None
        assert pytest.approx((other.km, other.sd_km), rel=1e-6) == (one.km, one.sd_km)


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_a_way_that_cannot_be() -> None:
    """However long a way somebody says was driven, nothing fails; of one whose square is no number nothing is told."""
    shown = 100.0 - np.arange(60.0)
    far = ChargeModel(np.arange(60) * 1e100, shown, 1.0).at(0.0)

    assert far is not None
    assert pytest.approx(1e102, rel=0.02) == far.km
    assert ChargeModel(np.arange(60) * 1e200, shown, 1.0).at(0.0) is None


def test_a_display_of_tenths() -> None:
    """A display that shows tenths is told more narrowly after the same way."""
    km = np.arange(0.0, 41.0) * KM_A_POINT
    whole = ChargeModel(km, 90.0 - np.arange(41.0), 1.0).at(0.0)
    tenths = ChargeModel(km, 90.0 - np.arange(41.0), 0.1).at(0.0)

    assert whole is not None
    assert tenths is not None
    assert tenths.sd_km <= whole.sd_km
    assert pytest.approx(90.0 * KM_A_POINT, rel=0.01) == tenths.km


@pytest.mark.parametrize("count", [1, 20, 21, 133])
def test_inverses_of_lower_triangles(count: int) -> None:
    """By halves they are what numpy's solver, which knows nothing of triangles, makes of any matrix."""
    rng = np.random.default_rng(count)
    lower = np.tril(rng.normal(0.0, 0.1, (3, count, count))) + np.eye(count)

    np.testing.assert_allclose(
        np.linalg.solve(lower, np.broadcast_to(np.eye(count), lower.shape)),
        charge_model.inverse_of_lower(lower),
        atol=1e-9,
    )


@pytest.mark.parametrize("apart", [0.1, 0.7, 2.0, 5.0])
def test_hills_against_bessel_functions(apart: float) -> None:
    """The covariance of heights is the Matern function of order 5/2, by scipy's Bessel functions."""
    reach = np.sqrt(5.0) * apart
    expected = 2.0**-1.5 / gamma(2.5) * reach**2.5 * kv(2.5, reach)

    assert pytest.approx(expected) == float(charge_model._matern(np.array(apart)))  # noqa: SLF001


def test_beyond_a_pass() -> None:
    """A climb took three points more and a descent gave them back: what that may still be is in the interval, which holds the end."""
    used = np.arange(0.0, 70.0)
    taken = 3.0 * np.clip((used - 40.0) / 10.0, 0.0, 1.0) - 3.0 * np.clip((used - 50.0) / 3.0, 0.0, 1.0)
    end_km = (99.0 + start_of(99.0)[0] - 0.5) * KM_A_POINT
    told, even = (
        ChargeModel((used - more) * KM_A_POINT, 99.0 - used, 1.0).at_each(0.0)
        for more in (taken, 0.0 * taken)
    )
    here, there = told[55], even[55]
    assert here is not None
    assert there is not None
    assert abs(here.km - end_km) < 1.96 * here.sd_km
    assert here.sd_km > 1.8 * there.sd_km
