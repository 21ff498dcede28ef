"""The smoother against the least-squares solution of its own model, and the noise estimate."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from logger.core.smoothing import AGILITY_M2_S3, smooth, white_noise_m


def least_squares(
    seconds: NDArray[np.float64], measured: NDArray[np.float64], noise: float
) -> NDArray[np.float64]:
    """Solve the same model as one linear system, by numpy: no recursion, no gains."""
    count = len(seconds)
    rows, right = [], []
    for k in range(count):
        row = np.zeros(2 * count)
        row[2 * k] = 1.0 / noise
        rows.append(row)
        right.append(measured[k] / noise)
    first = np.zeros(2 * count)
    first[1] = 1.0 / 50.0
    rows.append(first)
    right.append(0.0)
    for k in range(count - 1):
        dt = seconds[k + 1] - seconds[k]
        push = AGILITY_M2_S3 * np.array([[dt**3 / 3.0, dt**2 / 2.0], [dt**2 / 2.0, dt]])
        whiten = np.linalg.inv(np.linalg.cholesky(push))
        block = np.zeros((2, 2 * count))
        block[:, 2 * k : 2 * k + 2] = -whiten @ np.array([[1.0, dt], [0.0, 1.0]])
        block[:, 2 * k + 2 : 2 * k + 4] = whiten
        rows.extend(block)
        right.extend([0.0, 0.0])
    return np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)[0][::2]


def test_it_is_the_least_squares_path() -> None:
    """Forward and backward passes give what one big least-squares fit of the same model gives (numpy's lstsq)."""
    rng = np.random.default_rng(4)
    seconds = np.cumsum(rng.uniform(0.2, 4.0, 25))
    east, north = np.cumsum(rng.normal(10.0, 3.0, 25)), rng.normal(0.0, 5.0, 25)
    path = smooth(seconds, east, north, 2.0)

    # The filter starts at the first fix with its noise, as does the fit's first row.
    np.testing.assert_allclose(least_squares(seconds, east, 2.0), path.east_m, atol=1e-6)
    np.testing.assert_allclose(least_squares(seconds, north, 2.0), path.north_m, atol=1e-6)


def test_a_straight_drive_without_noise_stays_as_it_is() -> None:
    """Constant velocity passes through unchanged, away from the ends where the velocity is unknown."""
    seconds = np.arange(100.0)
    path = smooth(seconds, 31.0 * seconds, -5.0 * seconds, 3.0)

    np.testing.assert_allclose(31.0 * seconds, path.east_m, atol=0.05)
    np.testing.assert_allclose(-5.0 * seconds, path.north_m, atol=0.05)


def test_one_fix_is_its_own_path() -> None:
    """A single fix comes back as it is."""
    path = smooth(np.array([0.0]), np.array([1.0]), np.array([2.0]), 3.0)

    assert ([1.0], [2.0], 3.0) == (path.east_m.tolist(), path.north_m.tolist(), path.sd_m)


@pytest.mark.parametrize(("noise", "step_s"), [(3.0, 1.0), (0.5, 1.0), (3.0, 0.2), (1.0, 2.0)])
def test_noise_is_estimated_within_a_tenth(noise: float, step_s: float) -> None:
    """White noise of a known size on a curving, accelerating drive is found."""
    rng = np.random.default_rng(7)
    seconds = np.arange(0.0, 2000.0 * step_s, step_s)
    angle = seconds / 100.0
    east = 1500.0 * np.sin(angle) + 0.1 * seconds**2 + rng.normal(0.0, noise, len(seconds))
    north = 1500.0 * np.cos(angle) + rng.normal(0.0, noise, len(seconds))

    assert noise == pytest.approx(white_noise_m(seconds, east, north), rel=0.1)


def test_noise_that_cannot_be_told_is_none() -> None:
    """Fixes ten seconds apart, or three in all, say nothing about white noise."""
    far = 10.0 * np.arange(100.0)

    assert white_noise_m(far, far, far) is None
    assert white_noise_m(np.arange(3.0), np.arange(3.0), np.arange(3.0)) is None


@pytest.mark.parametrize("noise", [0.05, 2.0, 50.0])
@pytest.mark.parametrize("pace", ["even", "uneven", "with a gap"])
def test_many_fixes_are_smoothed_as_few(pace: str, noise: float) -> None:
    """Where the covariance has settled and the past is forgotten, it is the least-squares path still (numpy's lstsq)."""
    rng = np.random.default_rng(9)
    steps = np.ones(150) if pace != "uneven" else rng.uniform(0.5, 1.5, 150)
    if pace == "with a gap":
        steps[75] = 9.0
    seconds = np.cumsum(steps)
    east = 300_000.0 + np.cumsum(rng.normal(25.0, 1.0, 150)) + rng.normal(0.0, noise, 150)
    path = smooth(seconds, east, -east, noise)

    np.testing.assert_allclose(least_squares(seconds, east, noise), path.east_m, atol=1e-3 * noise)
    np.testing.assert_allclose(-path.east_m, path.north_m, rtol=1e-12)


def test_the_deviation_is_that_of_the_model() -> None:
    """`sd_m` is the median of the deviations that the inverse of the least-squares fit's normal matrix has (numpy)."""
    count, noise = 60, 3.0
    rows = []
    for k in range(count):
        row = np.zeros(2 * count)
        row[2 * k] = 1.0 / noise
        rows.append(row)
    speed = np.zeros(2 * count)
    speed[1] = 1.0 / 50.0
    rows.append(speed)
    whiten = np.linalg.inv(np.linalg.cholesky(AGILITY_M2_S3 * np.array([[1.0 / 3.0, 0.5], [0.5, 1.0]])))
    for k in range(count - 1):
        block = np.zeros((2, 2 * count))
        block[:, 2 * k : 2 * k + 2] = -whiten @ np.array([[1.0, 1.0], [0.0, 1.0]])
        block[:, 2 * k + 2 : 2 * k + 4] = whiten
        rows.extend(block)
    table = np.array(rows)
    deviations = np.sqrt(np.diag(np.linalg.inv(table.T @ table))[::2])
    path = smooth(np.arange(float(count)), np.zeros(count), np.zeros(count), noise)

    assert pytest.approx(float(np.median(deviations)), rel=1e-9) == path.sd_m
