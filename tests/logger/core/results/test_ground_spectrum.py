"""Spectra of road and noise: the transform against scipy, the densities against their processes, the fit against known numbers."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.fft
import scipy.integrate

from logger.core.results.ground_spectrum import (
    USUAL,
    _slopes,
    densities,
    from_sines,
    likeliest,
    sines,
    spread_evenly,
    starts_of,
)

LOGS = np.log([12.0, 2500.0, 3.0, 1400.0, 0.6])


@pytest.mark.parametrize("count", [8, 9, 1000, 1201])
def test_the_sine_transform_is_scipys(count: int) -> None:
    """The orthonormal DST-II, and back."""
    values = np.random.default_rng(count).normal(size=count)

    np.testing.assert_allclose(scipy.fft.dst(values, 2, norm="ortho"), sines(values), atol=1e-12)
    np.testing.assert_allclose(values, from_sines(sines(values)), atol=1e-12)


def test_densities_hold_the_variances() -> None:
    """Their integrals over all waves, halved by pi, are r^2 and w^2 + v^2 (up to the cell's limit)."""
    waves = np.linspace(0.0, np.pi / 1.0, 2_000_001)
    road, noise = densities(LOGS, waves, 1.0)

    assert pytest.approx(12.0**2, rel=1e-4) == scipy.integrate.trapezoid(road, waves) / np.pi
    assert pytest.approx(3.0**2 + 0.6**2, rel=1e-3) == scipy.integrate.trapezoid(noise, waves) / np.pi


def test_slopes_are_those_of_the_densities() -> None:
    """By differences."""
    waves = np.geomspace(1e-5, 0.06, 40)
    for place in range(5):
        step = np.zeros(5)
        step[place] = 1e-6
        up, down = (sum(densities(LOGS + way * step, waves, 50.0)) for way in (1.0, -1.0))
        np.testing.assert_allclose(
            (up - down) / 2e-6, _slopes(LOGS, waves, 50.0)[place], rtol=1e-5, atol=1e-8
        )


@pytest.mark.parametrize("seed", range(6))
def test_known_numbers_are_found(seed: int) -> None:
    """From powers drawn of known densities: each within three of the standard deviations it tells."""
    waves = np.pi * np.arange(1, 6_001) / (6_000 * 50.0)
    truth = np.log([25.0, 2_000.0, 2.0, 1_300.0, 0.4])
    powers = sum(densities(truth, waves, 50.0)) * np.random.default_rng(seed).normal(size=6_000) ** 2
    usual = np.log(np.array(USUAL))
    usual[3] += np.log(25.0)

    logs, covariance, ends = likeliest(waves, powers, 50.0, usual, starts_of(usual))
    again, *_ = likeliest(waves, powers, 50.0, usual, ends)

    assert np.all(np.abs(logs - truth) < 3.0 * np.sqrt(np.diag(covariance)))
    assert 0.3 > float(np.sqrt(covariance[2, 2]))
    # From where the starts led to there is nowhere left to go that anybody could tell.
    assert np.all(np.abs(again - logs) < 0.1 * np.sqrt(np.diag(covariance)))


def test_evenly_spread_numbers_look_drawn() -> None:
    """Mean 0, variance 1, neighbours and sets unrelated; the same each time."""
    sets = np.array([spread_evenly(number, 4_000) for number in range(5)])

    np.testing.assert_allclose(sets.mean(axis=1), 0.0, atol=0.05)
    np.testing.assert_allclose(np.cov(sets), np.eye(5), atol=0.06)
    assert 0.06 > abs(float(np.corrcoef(sets[0][1:], sets[0][:-1])[0, 1]))
    np.testing.assert_array_equal(spread_evenly(3, 50), spread_evenly(3, 50))
