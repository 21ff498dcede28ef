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
from numpy.typing import NDArray

from logger.core.geodesy import Floats

USUAL = (20.0, 3_000.0, 3.0, 60.0, 0.5)
"""r, l, w, m and v in metres, m in seconds of driving: what is usual of roads and receivers."""
SPREAD = (20.0, 8.0, 2.5, 1.6, 4.0)
"""By which factor each may well be more or less (one standard deviation of its logarithm)."""

_STARTS = ((0.3, 3_000.0), (5.0, 1_000.0), (30.0, 5_000.0))
_BANDS = 90
_MOST_STEPS = 40
_MOST_DAMPING = 1e6
_SETTLED = 1e-3


def densities(logs: Floats, waves: Floats, cell_m: float) -> tuple[Floats, Floats]:
    """Return the spectral densities of road and noise in m^3, each of shape (n,) or (m, n).

    Args:
        logs: the logarithms of r, l, w, m and v, all in metres; shape (5,) or (m, 5).
        waves: k in radians a metre, shape (n,).
        cell_m: the length of a cell.
    """
    road, length, wander, slow, white = _apart(logs)
    return (
        16.0 / 3.0 * road**2 * length / (1.0 + (length * waves) ** 2) ** 3,
        2.0 * wander**2 * slow / (1.0 + (slow * waves) ** 2) + white**2 * cell_m,
    )


def starts_of(usual: Floats) -> Floats:
    """Return where to look for the likeliest numbers from: logarithms, shape (m, 5); the roads differ, the noise is the usual."""
    return np.array([[*np.log(start), *usual[2:]] for start in _STARTS])


def likeliest(
    waves: Floats, powers: Floats, cell_m: float, usual: Floats, starts: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return the logarithms of the five numbers that make the powers likeliest, shape (5,), and their covariance.

    What comes last is where each start led to, shape (m, 5): where to start from with powers that differ a little.

    Args:
        waves: rising, in radians a metre; shape (n,), n >= 8.
        powers: squares of the altitudes' coefficients as spectral density, shape (n,).
        cell_m: the length of a cell.
        usual: the logarithms of what is usual, in metres.
        starts: of them the one counts that leads farthest down, shape (m, 5).
    """
    edges = np.unique(np.geomspace(1, len(waves) + 1, _BANDS).astype(np.int64)) - 1
    counts = np.diff(edges).astype(np.float64)
    means = np.add.reduceat(powers, edges[:-1]) / counts
    at = np.add.reduceat(waves, edges[:-1]) / counts
    ends, costs, curves = _scored(starts, usual, (means, counts, at), cell_m)
    best = int(np.argmin(costs))
    return ends[best], np.asarray(np.linalg.inv(curves[best])), ends


def _scored(
    logs: Floats, usual: Floats, bands: tuple[Floats, Floats, Floats], cell_m: float
) -> tuple[Floats, Floats, Floats]:
    """Go down by Fisher's scoring, damped after Levenberg, from several starts side by side.

    Returns:
        Where each ends, shape (m, 5), the costs there, (m,), and their curvatures, (m, 5, 5).
    """
    means, counts, at = bands
    precision, one = 1.0 / np.log(SPREAD) ** 2, np.eye(len(usual))

    def cost_at(logs: Floats) -> tuple[Floats, Floats]:
        road, noise = densities(logs, at, cell_m)
        total = road + noise
        fit = (np.log(total) + means / total) @ counts
        return np.asarray(0.5 * (fit + (logs - usual) ** 2 @ precision)), total

    def curve_at(logs: Floats, total: Floats) -> tuple[Floats, Floats]:
        slopes = _slopes(logs, at, cell_m) / total[:, None]
        off = counts * (means / total - 1.0)
        downhill = 0.5 * (slopes @ off[:, :, None])[:, :, 0] - (logs - usual) * precision
        return downhill, 0.5 * (slopes * counts) @ slopes.swapaxes(1, 2) + one * precision

    costs, total = cost_at(logs)
    damping, going = np.ones(len(logs)), np.ones(len(logs), dtype=np.bool_)
    for _ in range(_MOST_STEPS):
        downhill, curves = curve_at(logs, total)
        if not going.any():
            break
        damped = curves * (1.0 + damping[:, None, None] * one)
        step = np.linalg.solve(damped, downhill[:, :, None])[:, :, 0]
        tried = logs + np.clip(step, -1.0, 1.0)
        after, total_after = cost_at(tried)
        better = going & (after < costs)
        going &= ~(better & (costs - after < _SETTLED))
        damping = np.where(better, damping / 4.0, damping * 6.0)
        going &= damping <= _MOST_DAMPING
        taken = better[:, None]
        logs, costs, total = (
            np.where(taken, tried, logs), np.where(better, after, costs), np.where(taken, total_after, total)
        )  # fmt: skip
    return logs, costs, curves


def _slopes(logs: Floats, waves: Floats, cell_m: float) -> Floats:
    """Return by how much the whole density grows with each logarithm, shape (5, n) or (m, 5, n)."""
    road, length, wander, slow, white = _apart(logs)
    by_length, by_slow = (length * waves) ** 2, (slow * waves) ** 2
    road_part = 16.0 / 3.0 * road**2 * length / (1.0 + by_length) ** 3
    wander_part = 2.0 * wander**2 * slow / (1.0 + by_slow)
    slopes = np.empty((*road_part.shape[:-1], 5, len(waves)))
    slopes[..., 0, :] = 2.0 * road_part
    slopes[..., 1, :] = road_part * (1.0 - 6.0 * by_length / (1.0 + by_length))
    slopes[..., 2, :] = 2.0 * wander_part
    slopes[..., 3, :] = wander_part * (1.0 - 2.0 * by_slow / (1.0 + by_slow))
    slopes[..., 4, :] = 2.0 * white**2 * cell_m
    return slopes


def _apart(logs: Floats) -> Floats:
    """Return the five numbers whose logarithms have shape (5,) or (m, 5), each of shape (1,) or (m, 1)."""
    return np.asarray(np.exp(logs.T)[..., None])


def sines(values: Floats) -> Floats:
    """Return the orthonormal sine transform of values at the middles of cells (DST-II), shape (..., n)."""
    count = values.shape[-1]
    whole = np.fft.rfft(np.concatenate((values, -values[..., ::-1]), axis=-1))[..., 1:]
    return np.asarray(-np.imag(whole * np.conj(_turns(count))) / 2.0 * _scale(count))


def from_sines(spectrum: Floats) -> Floats:
    """Return the values of which `sines` gives the spectrum, shape (..., n)."""
    count = spectrum.shape[-1]
    half = np.zeros((*spectrum.shape[:-1], count + 1), dtype=np.complex128)
    half[..., 1:] = spectrum * (-2.0j * _turns(count) / _scale(count))
    half[..., -1] = spectrum[..., -1] / _scale(count)[-1] * 2.0
    return np.asarray(np.fft.irfft(half, 2 * count)[..., :count])


def _turns(count: int) -> NDArray[np.complex128]:
    return np.asarray(np.exp(0.5j * np.pi * np.arange(1, count + 1) / count))


def _scale(count: int) -> Floats:
    scale = np.full(count, np.sqrt(2.0 / count))
    scale[-1] = np.sqrt(1.0 / count)
    return scale


def spread_evenly(number: int, count: int) -> Floats:
    """Return numbers of mean 0 and variance 1 that look drawn and are not: cosines of j^2 times an irrational, shape (n,)."""
    root = float(np.sqrt((2.0, 3.0, 5.0, 7.0, 11.0)[number]))
    places = np.arange(1, count + 1, dtype=np.float64)
    turns = places * _broken(places * root)
    return np.asarray(np.sqrt(2.0) * np.cos(2.0 * np.pi * _broken(turns)))


def _broken(values: Floats) -> Floats:
    """Return what is left of values >= 0 without their whole part; quicker than a remainder, and as exact."""
    return np.asarray(values - np.floor(values))
