"""One quantity's readings as arrays, and every step between two of them. Pure.

Shapes: n readings in order of time, each with up to m values it may have; steps reach back over `REACH` readings, so
there are (n, REACH, m, m) of them: later reading, how many readings back the earlier one is (less one), value of the
earlier, value of the later. Most readings have fewer than m values, so steps are kept as a list of those there are.
Distances are kilometres, times hours, values those of `Observation.base`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

REACH = 5
"""How many readings back a step may reach: five misheard ones in a row are stepped over."""


@dataclass(frozen=True, slots=True)
class Strand:
    """The readings of one quantity.

    Attributes:
        quantity: its name.
        at_h: when each was read off, shape (n,).
        base: what each may be, shape (n, m); NaN where it may be less.
        half_step: half a step of its last digit, shape (n, m).
        places: how many decimals it was said with, 0 to 3, shape (n, m); NaN where it may be less.
        log_weight: natural log of how likely the sound is to have been this value, shape (n, m); -inf where there is none.
        log_none: the same for none of them, shape (n,).
        km: how far the car had gone, shape (n,), never missing: `Way` fills in.
        unseen_h: hours until then in which no receiver was looking, shape (n,).
        gps_kmh: speed by GPS there and then, shape (n,), NaN where nobody knows.
        pace_kmh: speed by the way some minutes before and after, shape (n,), NaN where nobody knows.
        charged: how many notes of charging there were until then, shape (n,).
        at_charger: whether the car still stood where charging had been noted, shape (n,).
        resets: how many trip resets had been noted until then, shape (n,).
        reset_km: how far the car had gone at the newest of them, shape (n,), NaN before the first.
        ahead_min: for a clock, how far each value is ahead of UTC, shape (n, m).
    """

    quantity: str
    at_h: Floats
    base: Floats
    half_step: Floats
    places: Floats
    log_weight: Floats
    log_none: Floats
    km: Floats
    unseen_h: Floats
    gps_kmh: Floats
    pace_kmh: Floats
    charged: Floats
    at_charger: NDArray[np.bool_]
    resets: Floats
    reset_km: Floats
    ahead_min: Floats


@dataclass(frozen=True, slots=True)
class Steps:
    """The steps of a strand that there are, each array of shape (k,).

    Attributes:
        shape: of all that there might be; the last two axes are the value of the earlier and that of the later.
        at: where each is among these, one array an axis.
        earlier, later: the values at its ends.
        rounding: variance of what both displays rounded away.
        km: how far the car went.
        hours: how long it took.
        unseen_h: hours of it in which no receiver was looking.
        charged: whether charging was noted between its ends, or under way at the first.
        since_reset_km: how far the car had gone at the later end since a trip reset noted in between, NaN without one.
        both_seen: whether GPS knew the speed at both ends.
    """

    shape: tuple[int, ...]
    at: tuple[NDArray[np.intp], ...]
    earlier: Floats
    later: Floats
    rounding: Floats
    km: Floats
    hours: Floats
    unseen_h: Floats
    charged: NDArray[np.bool_]
    since_reset_km: Floats
    both_seen: NDArray[np.bool_]

    def laid_out(self, values: Floats, otherwise: float) -> Floats:
        """Return what is said of each step as an array of `shape`."""
        everywhere = np.full(self.shape, otherwise)
        everywhere[self.at] = values
        return everywhere

    def only(self, which: NDArray[np.bool_]) -> Steps:
        """Return some of the steps."""
        return Steps(
            self.shape,
            tuple(axis[which] for axis in self.at),
            self.earlier[which],
            self.later[which],
            self.rounding[which],
            self.km[which],
            self.hours[which],
            self.unseen_h[which],
            self.charged[which],
            self.since_reset_km[which],
            self.both_seen[which],
        )


def steps_of(strand: Strand) -> Steps:
    """Return the steps of a strand with at least one reading, shape (n, REACH, m, m)."""
    count = len(strand.at_h)
    later, back = np.nonzero(np.arange(count)[:, None] - np.arange(1, REACH + 1)[None, :] >= 0)
    steps = steps_between(strand, later - back - 1, later)
    pair, *columns = steps.at
    width = strand.base.shape[1]
    return replace(steps, shape=(count, REACH, width, width), at=(later[pair], back[pair], *columns))


def steps_between(strand: Strand, earlier: NDArray[np.intp], later: NDArray[np.intp]) -> Steps:
    """Return the steps between pairs of readings, given by their numbers in two arrays of shape (p,), shape (p, m, m)."""
    pair, own, other = _values_of(np.isfinite(strand.base), earlier, later)
    variance = strand.half_step**2 / 3.0  # of a uniform distribution that is two half steps wide
    reset = strand.resets[later] > strand.resets[earlier]
    since = np.where(reset, (strand.km - strand.reset_km)[later], np.nan)
    charged = (strand.charged[later] > strand.charged[earlier]) | strand.at_charger[earlier]
    seen = np.isfinite(strand.gps_kmh)
    width = strand.base.shape[1]

    def rise(values: Floats) -> Floats:
        """Return how much something rose from end to end."""
        return np.maximum(0.0, values[later] - values[earlier])[pair]

    return Steps(
        shape=(len(later), width, width),
        at=(pair, own, other),
        earlier=strand.base[earlier[pair], own],
        later=strand.base[later[pair], other],
        rounding=variance[earlier[pair], own] + variance[later[pair], other],
        km=rise(strand.km),
        hours=rise(strand.at_h),
        unseen_h=rise(strand.unseen_h),
        charged=charged[pair],
        since_reset_km=since[pair],
        both_seen=(seen[later] & seen[earlier])[pair],
    )


def _values_of(
    there: NDArray[np.bool_], earlier: NDArray[np.intp], later: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Return every step between values that are there: which pair of readings, value of the earlier, value of the later.

    Pair by pair, and in that by the value of the earlier. Only these are gone through, not all that there might be.
    """
    count = np.count_nonzero(there, axis=1)
    begins, values = np.cumsum(count) - count, np.nonzero(there)[1]
    steps = count[earlier] * count[later]
    pair = np.repeat(np.arange(len(steps)), steps)
    own, other = np.divmod(
        np.arange(len(pair)) - np.repeat(np.cumsum(steps) - steps, steps), count[later][pair]
    )
    return pair, values[begins[earlier][pair] + own], values[begins[later][pair] + other]
