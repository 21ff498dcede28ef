"""How each quantity of a dash usually goes on: what is assumed before a drive and learned from it. Pure.

Every quantity goes on in the same way, only with other numbers: from an earlier reading x to a later one y

    y - x ~ (1 - p) N(b s, v) + p N(b s, k^2 v),    v = rounding + jitter^2 + (sd_b s)^2 + wander s

with p a small `tail`, s what it goes along (kilometres, or hours for temperatures) and `slope` b. `learn` takes b and wander from the drive's own steps, with the assumptions as prior.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from logger.core.plausible.strand import Floats


@dataclass(frozen=True, slots=True)
class Course:
    """How a quantity goes on.

    Attributes:
        span: width of what it may be at all; a value out of the blue has the density 1 / `span`.
        slope: mean change for each km (or hour).
        slope_sd: what is not known of the slope.
        wander: variance that each km (or hour) adds.
        jitter: standard deviation that even two readings at one place have, beyond rounding.
        by_time: whether it goes along hours, not kilometres.
        in_logs: whether it is compared by natural logs.
        tail: how often it goes on otherwise than usual, in a distribution `tail_sds` times as wide.
    """

    span: float
    slope: float = 0.0
    slope_sd: float = 0.0
    wander: float = 0.0
    jitter: float = 0.0
    by_time: bool = False
    in_logs: bool = False
    tail: float = 0.02
    tail_sds: float = 3.0

    def variance(self, along: Floats | float, rounding: Floats | float) -> Floats:
        """Return the variance of a usual step over a way (or time), given that of the displays' rounding."""
        return np.asarray(
            rounding + self.jitter**2 + (self.slope_sd * along) ** 2 + self.wander * np.abs(along)
        )


ASSUMED: dict[str, Course] = {
    # A car uses 0.2 to 0.6 % a km; hills and wind make a leg differ from the next.
    "charge": Course(span=101.0, slope=-0.35, slope_sd=0.15, wander=0.06, jitter=0.15),
    # Tyres and maps put a trip meter within a few percent of GPS; 1 s between look and word is 30 m.
    "trip": Course(span=600.0, slope=1.0, slope_sd=0.02, wander=2e-4, jitter=0.04),
    "odometer": Course(span=100_000.0, slope=1.0, slope_sd=0.02, wander=2e-4, jitter=0.04),
    # A prediction is worked out anew now and then.
    "range_left": Course(
        span=500.0, slope=-1.0, slope_sd=0.4, wander=1.5, jitter=1.0, tail=0.15, tail_sds=4.0
    ),
    "energy_used": Course(span=100.0, slope=0.18, slope_sd=0.08, wander=0.01, jitter=0.05),
    # ln(15 / 1): what a car can do at all.
    "efficiency": Course(span=2.7, wander=2e-4, jitter=0.01, in_logs=True),
    "outside_temperature": Course(span=80.0, wander=6.0, jitter=0.4, by_time=True),
    "battery_temperature": Course(span=80.0, wander=12.0, jitter=0.4, by_time=True),
    # By law a speedometer never reads low; its slope is the share by which it reads above GPS.
    "indicated_speed": Course(span=150.0, slope=0.02, slope_sd=0.02, jitter=2.5),
    "clock": Course(span=1440.0),
}
"""Judgement from common knowledge of cars, not measurements; each drive soon says better."""

_PRIOR_STEPS = 6.0
"""The assumed wander counts as much as that of so many steps."""
_USUAL_SDS = 3.0
_MOVING_KMH = 20.0


@dataclass(frozen=True, slots=True)
class TakenSteps:
    """The steps between the values a drive is believed to have had; each array has shape (k,).

    Attributes:
        change: later less earlier.
        along: km, or hours.
        rounding: variance of what the displays rounded away.
    """

    change: Floats
    along: Floats
    rounding: Floats


def learn(assumed: Course, taken: TakenSteps) -> Course:
    """Return a course that follows the drive's own steps, as far as they say something.

    Steps off by more than three standard deviations say nothing: they are no usual going on. The slope is the
    conjugate normal update of the assumed one; the wander the mean of the squared residuals less the known variances,
    with the assumed one as `_PRIOR_STEPS` of them. Twice over, since what is usual depends on both.
    """
    course = assumed
    for _ in range(2):
        variance = course.variance(taken.along, taken.rounding)
        usual = np.abs(taken.change - course.slope * taken.along) <= _USUAL_SDS * np.sqrt(variance)
        usual &= taken.along > 0.0
        if not usual.any():
            return course
        change, along, rounding = taken.change[usual], taken.along[usual], taken.rounding[usual]
        slope, slope_sd = assumed.slope, assumed.slope_sd
        if assumed.slope_sd > 0.0:
            # Rounding and jitter of neighbouring steps cancel, so the sum's own ends are all that counts of them.
            total = float(along.sum())
            noise = float(rounding.max()) + assumed.jitter**2 + course.wander * total
            precision = assumed.slope_sd**-2 + total**2 / noise
            slope = (assumed.slope * assumed.slope_sd**-2 + float(change.sum()) * total / noise) / precision
            slope_sd = precision**-0.5
        residual = (change - slope * along) ** 2 - rounding - assumed.jitter**2
        rate = np.maximum(0.0, residual) / along
        wander = (_PRIOR_STEPS * assumed.wander + float(rate.sum())) / (_PRIOR_STEPS + len(rate))
        course = replace(assumed, slope=slope, slope_sd=slope_sd, wander=wander)
    return course


def learn_excess(assumed: Course, indicated_kmh: Floats, gps_kmh: Floats, noise_sd_kmh: float) -> Course:
    """Return the course of a speedometer: by which share it reads above GPS. Arrays of shape (k,), k >= 0.

    The median of the shares, since a misheard one must not count, joined with the assumed one by precision; a median
    has the variance of a mean times pi / 2.
    """
    moving = gps_kmh > _MOVING_KMH
    if not moving.any():
        return assumed
    shares = indicated_kmh[moving] / gps_kmh[moving] - 1.0
    variance = np.pi / 2.0 * (noise_sd_kmh / float(np.median(gps_kmh[moving]))) ** 2 / len(shares)
    precision = assumed.slope_sd**-2 + 1.0 / variance
    slope = (assumed.slope * assumed.slope_sd**-2 + float(np.median(shares)) / variance) / precision
    return replace(assumed, slope=slope, slope_sd=precision**-0.5)
