"""One quantity's readings as arrays, and every step between two of them. Pure.

Shapes: n readings in order of time, each with up to m values it may have; steps reach back over `REACH` readings, so a
step's arrays have shape (n, REACH, m, m): later reading, how many readings back the earlier one is (less one), value
of the earlier, value of the later. Distances are kilometres, times hours, values those of `Observation.base`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_Scalar = TypeVar("_Scalar", bound=np.generic)

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
    """Every step of a strand.

    Attributes:
        there: whether there is such an earlier reading, shape (n, REACH, 1, 1).
        earlier, later: the values at its ends, shapes (n, REACH, m, 1) and (n, 1, 1, m).
        rounding: variance of what both displays rounded away, shape (n, REACH, m, m).
        km: how far the car went, shape (n, REACH, 1, 1).
        hours: how long it took, same shape.
        unseen_h: hours of it in which no receiver was looking.
        charged: whether charging was noted between its ends, or under way at the first.
        since_reset_km: how far the car had gone at the later end since a trip reset noted in between, NaN without one.
        both_seen: whether GPS knew the speed at both ends.
    """

    there: NDArray[np.bool_]
    earlier: Floats
    later: Floats
    rounding: Floats
    km: Floats
    hours: Floats
    unseen_h: Floats
    charged: NDArray[np.bool_]
    since_reset_km: Floats
    both_seen: NDArray[np.bool_]


def steps_of(strand: Strand) -> Steps:
    """Return the steps of a strand with at least one reading."""
    count = len(strand.at_h)
    later = np.arange(count)[:, None]
    earlier = later - np.arange(1, REACH + 1)[None, :]
    there = earlier >= 0
    earlier = np.maximum(earlier, 0)

    def wide(values: NDArray[_Scalar]) -> NDArray[_Scalar]:
        return values[:, :, None, None]

    variance = strand.half_step**2 / 3.0  # of a uniform distribution that is two half steps wide
    reset = strand.resets[later] > strand.resets[earlier]
    since = np.where(reset, (strand.km - strand.reset_km)[later], np.nan)
    charged = (strand.charged[later] > strand.charged[earlier]) | strand.at_charger[earlier]
    seen = np.isfinite(strand.gps_kmh)
    return Steps(
        there=wide(there),
        earlier=strand.base[earlier][:, :, :, None],
        later=strand.base[:, None, None, :],
        rounding=variance[earlier][:, :, :, None] + variance[:, None, None, :],
        km=wide(np.maximum(0.0, strand.km[later] - strand.km[earlier])),
        hours=wide(np.maximum(0.0, strand.at_h[later] - strand.at_h[earlier])),
        unseen_h=wide(np.maximum(0.0, strand.unseen_h[later] - strand.unseen_h[earlier])),
        charged=wide(charged),
        since_reset_km=wide(since),
        both_seen=wide(seen[later] & seen[earlier]),
    )
