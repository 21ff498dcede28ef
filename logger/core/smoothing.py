"""Where the car was, seen through the noise of its fixes: a Kalman smoother in the plane. Pure.

Model: between fixes the velocity wanders as white acceleration of spectral density `AGILITY_M2_S3` (the
"discretised continuous white noise acceleration" model of Bar-Shalom, Li and Kirubarajan, Estimation with
Applications to Tracking and Navigation, section 6.2); each fix is the position plus white noise. The forward
filter is followed by the smoother of Rauch, Tung and Striebel (AIAA Journal 3(8), 1965). Both cited from memory;
the tests hold the result to the least-squares solution of the same model. East and north share one covariance, so
it is computed once. Only the filter's covariance is stepped through one by one; what follows from it are affine
recurrences, which `_running` computes for all fixes at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

AGILITY_M2_S3 = 2.0
"""How readily a car changes its velocity: by about 1.4 m/s in one second, 3 m/s in five.

Less would cut corners (a low figure trusts straight lines), more would leave noise in: with 3 m of white noise at
1 Hz this leaves 0.02 % too much at 31 m/s and under 0.1 % at 13 m/s.
"""

_SHORT_SPAN_S = 7.0
_ENOUGH_QUADS = 20
_START_SPEED_SD_MPS = 50.0
_FORGOTTEN = 1e-25
"""A share of a state that counts for nothing: of 1,000 km it is a tenth of an attometre."""
_SETTLED = 1e-14
"""A relative change of the covariance that is rounding."""
_ENOUGH_ALIKE = 512
"""After so many fixes of one covariance going back, what came later is forgotten, for any noise a receiver has."""


@dataclass(frozen=True, slots=True)
class Path:
    """Positions in a plane, in metres, for n fixes: `east_m` and `north_m` of shape (n,).

    `sd_m` is the standard deviation per axis that is typical of them (the median).
    """

    east_m: Floats
    north_m: Floats
    sd_m: float


def white_noise_m(seconds: Floats, east_m: Floats, north_m: Floats) -> float | None:
    """Return the standard deviation per axis of the fixes' white noise, None when it cannot be told.

    Third divided differences of four fixes within a few seconds cancel position, velocity and acceleration and
    leave noise; the median of their sizes (times 1.4826, the normal distribution's ratio) is robust against the
    few that hold a real jerk or a leap. None where too few fixes are close enough in time for that. Noise that is
    slow against the fixes' spacing is not seen, and needs no smoothing: it hardly lengthens a path.
    """
    if len(seconds) < 4:
        return None
    close = seconds[3:] - seconds[:-3] <= _SHORT_SPAN_S
    if np.count_nonzero(close) < _ENOUGH_QUADS:
        return None
    one, two, three, four = _quads(seconds, close)
    weights = np.stack(
        (
            1.0 / ((one - two) * (one - three) * (one - four)),
            1.0 / ((two - one) * (two - three) * (two - four)),
            1.0 / ((three - one) * (three - two) * (three - four)),
            1.0 / ((four - one) * (four - two) * (four - three)),
        )
    )
    weights /= np.sqrt((weights * weights).sum(axis=0))
    residuals = [(weights * _quads(axis_m, close)).sum(axis=0) for axis_m in (east_m, north_m)]
    return float(1.4826 * np.median(np.abs(np.concatenate(residuals))))


def _quads(column: Floats, which: NDArray[np.bool_]) -> Floats:
    """Return each value with the three after it, shape (4, m), for those asked for."""
    return np.stack([column[at : len(column) - 3 + at][which] for at in range(4)])


def smooth(seconds: Floats, east_m: Floats, north_m: Floats, noise_m: float) -> Path:
    """Return the smoothed path of fixes at rising times `seconds`, each with white noise of `noise_m` > 0 per axis.

    All arrays have shape (n,), n >= 1. Takes a time proportional to n log n.
    """
    steps = np.diff(seconds)
    measured = np.stack((east_m, north_m))
    (filtered, predicted, gains), counts = _covariances(steps, noise_m**2)
    forward = _filtered(measured, steps, gains)
    keep = _smoother_gains(steps, filtered[:, :-1], predicted[:, 1:])
    ahead = np.stack((forward[0, :, :-1] + steps * forward[1, :, :-1], forward[1, :, :-1]))
    offsets = np.concatenate((forward[:, :, :-1] - _times(keep, ahead), forward[:, :, -1:]), axis=2)
    path = _running(_with_none_last(keep)[:, :, ::-1], offsets[:, :, ::-1])[0, :, ::-1]
    return Path(
        east_m=path[0], north_m=path[1], sd_m=_median_variance(keep, filtered, predicted, counts) ** 0.5
    )


def _covariances(steps: Floats, variance: float) -> tuple[tuple[Floats, Floats, Floats], NDArray[np.int64]]:
    """Return the filter's covariances (pp, pv, vv) after and before each of n fixes, shape (3, n), and its gains, (2, n).

    An axis' state is (position, velocity). Fixes that go on at the same pace soon have the same covariance each; how many in a
    row do comes as well, shape (m,).
    """
    pp, pv, vv = variance, 0.0, _START_SPEED_SD_MPS**2
    columns = [pp, pv, vv, pp, pv, vv, 0.0, 0.0]
    counts = [1]
    ends = [*(np.flatnonzero(np.diff(steps)) + 1).tolist(), len(steps)]
    pace = 0
    at = 0
    while at < len(steps):
        dt = float(steps[at])
        while ends[pace] <= at:
            pace += 1
        old_pp, old_pv, old_vv = pp, pv, vv
        pp += 2.0 * dt * pv + dt * dt * vv + AGILITY_M2_S3 * dt**3 / 3.0
        pv += dt * vv + AGILITY_M2_S3 * dt * dt / 2.0
        vv += AGILITY_M2_S3 * dt
        expected = (pp, pv, vv)
        gain_p, gain_v = pp / (pp + variance), pv / (pp + variance)
        vv -= gain_v * pv
        pv -= gain_p * pv
        pp -= gain_p * pp
        alike = 1
        if (
            abs(pp - old_pp) <= _SETTLED * pp
            and abs(pv - old_pv) <= _SETTLED * pv
            and abs(vv - old_vv) <= _SETTLED * vv
        ):
            alike = ends[pace] - at
        columns += (pp, pv, vv, *expected, gain_p, gain_v)
        counts.append(alike)
        at += alike
    all_columns = np.repeat(np.array(columns).reshape(-1, 8).T, counts, axis=1)
    return (all_columns[:3], all_columns[3:6], all_columns[6:]), np.array(counts)


def _filtered(measured: Floats, steps: Floats, gains: Floats) -> Floats:
    """Return the filtered states of both axes, shape (2, 2, n): position and velocity, east and north."""
    gain_p, gain_v = gains[:, 1:]
    keep = np.stack(
        (np.stack((1.0 - gain_p, (1.0 - gain_p) * steps)), np.stack((-gain_v, 1.0 - gain_v * steps)))
    )
    none = np.zeros((2, 2, 1))
    start = np.stack((measured[:, :1], np.zeros((2, 1))))
    offsets = np.stack((gain_p * measured[:, 1:], gain_v * measured[:, 1:]))
    return _running(np.concatenate((none, keep), axis=2), np.concatenate((start, offsets), axis=2))


def _smoother_gains(steps: Floats, filtered: Floats, predicted: Floats) -> Floats:
    """Return the smoother's gains P F' inverse(predicted), shape (2, 2, n-1), where P F' = [[pp + dt pv, pv], [pv + dt vv, vv]]."""
    pp, pv, vv = filtered
    app, apv, avv = predicted
    det = app * avv - apv * apv
    a, b, c, d = pp + steps * pv, pv, pv + steps * vv, vv
    return np.stack(
        (
            np.stack(((a * avv - b * apv) / det, (b * app - a * apv) / det)),
            np.stack(((c * avv - d * apv) / det, (d * app - c * apv) / det)),
        )
    )


def _median_variance(keep: Floats, filtered: Floats, predicted: Floats, counts: NDArray[np.int64]) -> float:
    """Return the median of the smoothed positions' variances; of fixes that are alike only some are looked at, for all of them."""
    last = np.cumsum(counts) - 1
    shown = np.minimum(counts, _ENOUGH_ALIKE)
    # The last ones of each row of fixes that are alike; the first of these has settled, and stands for those before it.
    firsts = np.cumsum(shown) - shown
    at = np.repeat(last - shown + 1 - firsts, shown) + np.arange(shown.sum())
    stands_for = np.ones(len(at), dtype=np.int64)
    stands_for[firsts] += counts - shown
    (cpp, cpv), (cvp, cvv) = keep[:, :, at[:-1]]
    spread = np.stack(
        (
            np.stack((cpp * cpp, 2.0 * cpp * cpv, cpv * cpv)),
            np.stack((cpp * cvp, cpp * cvv + cpv * cvp, cpv * cvv)),
            np.stack((cvp * cvp, 2.0 * cvp * cvv, cvv * cvv)),
        )
    )
    offsets = filtered[:, None, at[:-1]] - _times(spread, predicted[:, None, at[:-1] + 1])
    offsets = np.concatenate((offsets, filtered[:, None, -1:]), axis=2)
    variances = _running(_with_none_last(spread)[:, :, ::-1], offsets[:, :, ::-1])[0, 0, ::-1]
    return float(np.median(np.repeat(variances, stands_for)))


def _with_none_last(matrices: Floats) -> Floats:
    """Return matrices, shape (d, d, n), with one of zeros after them: what comes first in time has nothing before it."""
    return np.concatenate((matrices, np.zeros((*matrices.shape[:2], 1))), axis=2)


def _times(matrices: Floats, others: Floats) -> Floats:
    """Return the n products of matrices, shape (d, d, n), and others, shape (d, m, n)."""
    product = matrices[:, 0, None] * others[0]
    for inner in range(1, len(others)):
        product += matrices[:, inner, None] * others[inner]
    return np.asarray(product)


def _running(matrices: Floats, offsets: Floats) -> Floats:
    """Return x[k] = matrices[k] x[k-1] + offsets[k] for all n at once, shape (d, m, n); the first matrix is zeros.

    By doubling: after each round an element knows twice as many of those before it (Hillis and Steele, Data parallel
    algorithms, CACM 29(12), 1986, from memory), until what lies further back is forgotten.
    """
    matrices, states = matrices.copy(), offsets.copy()
    reach = 1
    while reach < matrices.shape[2] and np.abs(matrices).max() > _FORGOTTEN:
        states[:, :, reach:] += _times(matrices[:, :, reach:], states[:, :, :-reach])
        matrices[:, :, reach:] = _times(matrices[:, :, reach:], matrices[:, :, :-reach])
        reach *= 2
    return states
