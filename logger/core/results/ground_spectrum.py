"""How much of a receiver's altitudes is road and how much noise, told from how quickly they change along the way. Pure.

    road      variance r^2, changing over a length l:  16/3 r^2 l / (1 + (l k)^2)^3    (a Matern 5/2 process)
    wander    variance w^2, over a length m:           2 w^2 m / (1 + (m k)^2)         (a first-order Gauss-Markov process)
    white     variance v^2 in a cell of length c:      v^2 c

at k radians a metre. A road's density falls with the sixth power of k because roads are laid out in straight grades and
parabolas, whose second derivative jumps; a receiver's wander falls with the second. The five numbers are those that make the
spectrum of the altitudes likeliest (Whittle, Ark. Mat. 2, 1953, cited from memory) beside what is usual.
"""

from __future__ import annotations

import numpy as np

from logger.core.geodesy import Floats

USUAL = (20.0, 3_000.0, 3.0, 60.0, 0.5)
"""r, l, w, m and v in metres, m in seconds of driving: what is usual of roads and receivers."""
SPREAD = (20.0, 8.0, 2.5, 1.6, 4.0)
"""By which factor each may well be more or less (one standard deviation of its logarithm)."""

_STARTS = ((0.3, 3_000.0), (5.0, 1_000.0), (30.0, 5_000.0))
_BANDS = 90
_MOST_STEPS = 40


def densities(logs: Floats, waves: Floats, cell_m: float) -> tuple[Floats, Floats]:
    """Return the spectral densities of road and noise in m^3, each of shape (n,).

    Args:
        logs: the logarithms of r, l, w, m and v, all in metres; shape (5,).
        waves: k in radians a metre, shape (n,).
        cell_m: the length of a cell.
    """
    road, length, wander, slow, white = np.exp(logs)
    return (
        16.0 / 3.0 * road**2 * length / (1.0 + (length * waves) ** 2) ** 3,
        2.0 * wander**2 * slow / (1.0 + (slow * waves) ** 2) + white**2 * cell_m,
    )


def likeliest(waves: Floats, powers: Floats, cell_m: float, usual: Floats) -> tuple[Floats, Floats]:
    """Return the logarithms of the five numbers that make the powers likeliest, shape (5,), and their covariance.

    Args:
        waves: rising, in radians a metre; shape (n,), n >= 8.
        powers: squares of the altitudes' coefficients as spectral density, shape (n,).
        cell_m: the length of a cell.
        usual: the logarithms of what is usual, in metres.
    """
    edges = np.unique(np.geomspace(1, len(waves) + 1, _BANDS).astype(np.int64)) - 1
    counts = np.diff(edges).astype(np.float64)
    means = np.add.reduceat(powers, edges[:-1]) / counts
    at = np.add.reduceat(waves, edges[:-1]) / counts
    ends = [
        _scored(np.concatenate((np.log(start), usual[2:])), usual, (means, counts, at), cell_m)
        for start in _STARTS
    ]
    logs, _, curve = min(ends, key=lambda end: end[1])
    return logs, np.asarray(np.linalg.inv(curve))


def _scored(
    logs: Floats, usual: Floats, bands: tuple[Floats, Floats, Floats], cell_m: float
) -> tuple[Floats, float, Floats]:
    """Go down by Fisher's scoring, damped after Levenberg; return where it ends, the cost and its curvature there."""
    means, counts, at = bands
    precision = 1.0 / np.log(SPREAD) ** 2

    def cost_at(logs: Floats) -> tuple[float, Floats]:
        road, noise = densities(logs, at, cell_m)
        total = road + noise
        fit = 0.5 * float(np.sum(counts * (np.log(total) + means / total)))
        return fit + 0.5 * float(np.sum((logs - usual) ** 2 * precision)), total

    cost, total = cost_at(logs)
    damping, settled = 1.0, False
    curve = np.diag(precision)
    for _ in range(_MOST_STEPS):
        slopes = _slopes(logs, at, cell_m) / total
        downhill = 0.5 * slopes @ (counts * (means / total - 1.0)) - (logs - usual) * precision
        curve = 0.5 * (slopes * counts) @ slopes.T + np.diag(precision)
        if settled or damping > 1e6:
            break
        step = np.linalg.solve(curve + damping * np.diag(np.diag(curve)), downhill)
        tried = logs + np.clip(step, -1.0, 1.0)
        after, total_after = cost_at(tried)
        if after < cost:
            settled = cost - after < 1e-3
            logs, cost, total, damping = tried, after, total_after, damping / 4.0
        else:
            damping *= 6.0
    return logs, cost, curve


def _slopes(logs: Floats, waves: Floats, cell_m: float) -> Floats:
    """Return by how much the whole density grows with each logarithm, shape (5, n)."""
    road, length, wander, slow, white = np.exp(logs)
    by_length, by_slow = (length * waves) ** 2, (slow * waves) ** 2
    road_part = 16.0 / 3.0 * road**2 * length / (1.0 + by_length) ** 3
    wander_part = 2.0 * wander**2 * slow / (1.0 + by_slow)
    return np.array(
        [
            2.0 * road_part,
            road_part * (1.0 - 6.0 * by_length / (1.0 + by_length)),
            2.0 * wander_part,
            wander_part * (1.0 - 2.0 * by_slow / (1.0 + by_slow)),
            np.full(len(waves), 2.0 * white**2 * cell_m),
        ]
    )


def sines(values: Floats) -> Floats:
    """Return the orthonormal sine transform of values at the middles of cells (DST-II), shape (n,)."""
    count = len(values)
    places = np.arange(1, count + 1)
    whole = np.fft.rfft(np.concatenate((values, -values[::-1])))[1:]
    turned = -np.imag(whole * np.exp(-0.5j * np.pi * places / count)) / 2.0
    return np.asarray(turned * _scale(count))


def from_sines(spectrum: Floats) -> Floats:
    """Return the values of which `sines` gives the spectrum."""
    count = len(spectrum)
    places = np.arange(1, count + 1)
    half = spectrum / _scale(count) * -2.0j * np.exp(0.5j * np.pi * places / count)
    half[-1] = spectrum[-1] / _scale(count)[-1] * 2.0
    whole = np.fft.irfft(np.concatenate(([0.0], half)), 2 * count)
    return np.asarray(whole[:count])


def _scale(count: int) -> Floats:
    scale = np.full(count, np.sqrt(2.0 / count))
    scale[-1] = np.sqrt(1.0 / count)
    return scale


def spread_evenly(number: int, count: int) -> Floats:
    """Return numbers of mean 0 and variance 1 that look drawn and are not: cosines of j^2 times an irrational, shape (n,)."""
    root = float(np.sqrt((2.0, 3.0, 5.0, 7.0, 11.0)[number]))
    places = np.arange(1, count + 1, dtype=np.float64)
    turns = np.mod(places * np.mod(places * root, 1.0), 1.0)
    return np.asarray(np.sqrt(2.0) * np.cos(2.0 * np.pi * turns))
