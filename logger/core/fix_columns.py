"""Many fixes at once: a column for each thing that a fix tells. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from logger.core.geodesy import Floats
from logger.model import Fix

FARTHEST_NS = 2**62
"""No time is farther from 1970 than this, 146 years: the arithmetic can hold it."""


@dataclass(frozen=True, slots=True, eq=False)
class FixColumns:
    """Fixes in some order; every array has shape (n,), NaN where a receiver gave nothing."""

    utc_ns: NDArray[np.int64]
    lat_deg: Floats
    lon_deg: Floats
    altitude_m: Floats
    speed_mps: Floats
    hdop: Floats

    @classmethod
    def of(cls, fixes: Sequence[Fix]) -> Self:
        """Return fixes as columns; a time farther away than `FARTHEST_NS` becomes that."""
        return cls(
            np.array([min(max(fix.utc_ns, -FARTHEST_NS), FARTHEST_NS) for fix in fixes], dtype=np.int64),
            np.array([fix.lat_deg for fix in fixes], dtype=np.float64),
            np.array([fix.lon_deg for fix in fixes], dtype=np.float64),
            _or_nan([fix.altitude_m for fix in fixes]),
            _or_nan([fix.speed_mps for fix in fixes]),
            _or_nan([fix.hdop for fix in fixes]),
        )

    def __len__(self) -> int:
        return len(self.utc_ns)

    def taken(self, which: NDArray[np.int64]) -> Self:
        """Return the fixes at some indices, in that order."""
        return type(self)(
            self.utc_ns[which],
            self.lat_deg[which],
            self.lon_deg[which],
            self.altitude_m[which],
            self.speed_mps[which],
            self.hdop[which],
        )


def _or_nan(values: Sequence[float | None]) -> Floats:
    """Return an array with NaN for None."""
    return np.array([math.nan if value is None else value for value in values], dtype=np.float64)
