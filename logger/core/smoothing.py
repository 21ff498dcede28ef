"""Where the car was, seen through the noise of its fixes: a Kalman smoother in the plane. Pure.

Model: between fixes the velocity wanders as white acceleration of spectral density `AGILITY_M2_S3` (the
"discretised continuous white noise acceleration" model of Bar-Shalom, Li and Kirubarajan, Estimation with
Applications to Tracking and Navigation, section 6.2); each fix is the position plus white noise. The forward
filter is followed by the smoother of Rauch, Tung and Striebel (AIAA Journal 3(8), 1965). Both cited from memory;
the tests hold the result to the least-squares solution of the same model. East and north share one covariance, so
it is computed once.
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
    quads = np.lib.stride_tricks.sliding_window_view(seconds, 4)
    close = quads[:, 3] - quads[:, 0] <= _SHORT_SPAN_S
    if np.count_nonzero(close) < _ENOUGH_QUADS:
        return None
    spacing = quads[close][:, :, None] - quads[close][:, None, :]
    spacing[:, range(4), range(4)] = 1.0
    weights = 1.0 / np.prod(spacing, axis=2)
    weights /= np.linalg.norm(weights, axis=1, keepdims=True)
    residuals = [
        np.sum(weights * np.lib.stride_tricks.sliding_window_view(axis_m, 4)[close], axis=1)
        for axis_m in (east_m, north_m)
    ]
    return float(1.4826 * np.median(np.abs(np.concatenate(residuals))))


def smooth(seconds: Floats, east_m: Floats, north_m: Floats, noise_m: float) -> Path:
    """Return the smoothed path of fixes at rising times `seconds`, each with white noise of `noise_m` > 0 per axis.

    All arrays have shape (n,), n >= 1. Takes a time proportional to n.
    """
    steps = np.diff(seconds).tolist()
    forward, backward, sd_m = _gains(steps, noise_m**2)
    return Path(
        east_m=_smoothed_axis(east_m.tolist(), steps, forward, backward),
        north_m=_smoothed_axis(north_m.tolist(), steps, forward, backward),
        sd_m=sd_m,
    )


def _gains(
    steps: list[float], variance: float
) -> tuple[list[tuple[float, float]], list[tuple[float, float, float, float]], float]:
    """Return the filter's gains (n), the smoother's gains (n-1, row by row) and the median smoothed deviation.

    An axis' state is (position, velocity); its covariance is kept as (pp, pv, vv).
    """
    pp, pv, vv = variance, 0.0, _START_SPEED_SD_MPS**2
    filtered = [(pp, pv, vv)]
    predicted = [(pp, pv, vv)]
    forward = [(0.0, 0.0)]
    for dt in steps:
        pp += 2.0 * dt * pv + dt * dt * vv + AGILITY_M2_S3 * dt**3 / 3.0
        pv += dt * vv + AGILITY_M2_S3 * dt * dt / 2.0
        vv += AGILITY_M2_S3 * dt
        predicted.append((pp, pv, vv))
        gain_p, gain_v = pp / (pp + variance), pv / (pp + variance)
        forward.append((gain_p, gain_v))
        vv -= gain_v * pv
        pv -= gain_p * pv
        pp -= gain_p * pp
        filtered.append((pp, pv, vv))
    variances = [pp]
    backward = []
    spp, spv, svv = pp, pv, vv
    for k in range(len(steps) - 1, -1, -1):
        dt = steps[k]
        pp, pv, vv = filtered[k]
        app, apv, avv = predicted[k + 1]
        det = app * avv - apv * apv
        # C = P F' inverse(predicted), where P F' = [[pp + dt pv, pv], [pv + dt vv, vv]]
        a, b, c, d = pp + dt * pv, pv, pv + dt * vv, vv
        cpp, cpv = (a * avv - b * apv) / det, (b * app - a * apv) / det
        cvp, cvv = (c * avv - d * apv) / det, (d * app - c * apv) / det
        backward.append((cpp, cpv, cvp, cvv))
        dpp, dpv, dvv = spp - app, spv - apv, svv - avv
        spp = pp + cpp * cpp * dpp + 2.0 * cpp * cpv * dpv + cpv * cpv * dvv
        spv = pv + cpp * cvp * dpp + (cpp * cvv + cpv * cvp) * dpv + cpv * cvv * dvv
        svv = vv + cvp * cvp * dpp + 2.0 * cvp * cvv * dpv + cvv * cvv * dvv
        variances.append(spp)
    return forward, backward[::-1], float(np.median(variances)) ** 0.5


def _smoothed_axis(
    measured: list[float],
    steps: list[float],
    forward: list[tuple[float, float]],
    backward: list[tuple[float, float, float, float]],
) -> Floats:
    """Return one axis of the smoothed path, given both passes' gains."""
    position, velocity = measured[0], 0.0
    filtered = [(position, velocity)]
    predicted = [(position, velocity)]
    for dt, value, (gain_p, gain_v) in zip(steps, measured[1:], forward[1:], strict=True):
        position += dt * velocity
        predicted.append((position, velocity))
        surprise = value - position
        position += gain_p * surprise
        velocity += gain_v * surprise
        filtered.append((position, velocity))
    path = np.empty(len(measured))
    path[-1] = position
    for k in range(len(steps) - 1, -1, -1):
        off_p, off_v = position - predicted[k + 1][0], velocity - predicted[k + 1][1]
        cpp, cpv, cvp, cvv = backward[k]
        position = filtered[k][0] + cpp * off_p + cpv * off_v
        velocity = filtered[k][1] + cvp * off_p + cvv * off_v
        path[k] = position
    return path
