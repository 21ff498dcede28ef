"""What the charts of a result show, in base units. Pure records; every array of a record has the same shape (n,), n may be 0."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logger.core.geodesy import Floats


@dataclass(frozen=True, slots=True, eq=False)
class ChargeSeries:
    """Charge read off, along the drive; `distance_km` is by GPS, or by trip meter where there is no track."""

    distance_km: Floats
    charge_pct: Floats


@dataclass(frozen=True, slots=True, eq=False)
class ProjectedSeries:
    """The range projected at each checkpoint, with its 95 % interval (NaN where there is none), and the rule of thumb beside it."""

    distance_km: Floats
    range_km: Floats
    low_km: Floats
    high_km: Floats
    rule_of_thumb_km: Floats


@dataclass(frozen=True, slots=True, eq=False)
class PredictedSeries:
    """What the dash predicted at each reading: the range left as shown, and with it the range in all (driven plus left)."""

    distance_km: Floats
    left_km: Floats
    in_all_km: Floats


@dataclass(frozen=True, slots=True, eq=False)
class SpeedSeries:
    """Seconds driven at each speed: `lower_kmh` is the lower edge of a bin `width_kmh` wide. `target_kmh` is the sheet's, or None."""

    lower_kmh: Floats
    seconds: Floats
    width_kmh: float
    target_kmh: float | None


@dataclass(frozen=True, slots=True, eq=False)
class ProfileSeries:
    """The cleaned altitude along the drive, thinned to some hundreds of points."""

    distance_km: Floats
    altitude_m: Floats


@dataclass(frozen=True, slots=True, eq=False)
class StretchSeries:
    """Consumption by stretch between readings of charge, with its 95 % interval: % of charge per 100 km, and Wh/km where usable energy is told (else NaN)."""

    from_km: Floats
    to_km: Floats
    pct_per_100km: Floats
    low_pct_per_100km: Floats
    high_pct_per_100km: Floats
    wh_per_km: Floats


@dataclass(frozen=True, slots=True, eq=False)
class WaySeries:
    """The way driven, thinned to some thousands of points, and the checkpoints on it."""

    lat_deg: Floats
    lon_deg: Floats
    checkpoint_lat_deg: Floats
    checkpoint_lon_deg: Floats
    checkpoint_charge_pct: Floats
    """NaN where none was read off."""


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """What the charts show.

    Attributes:
        reached_km: the range at 0 % shown by the same distance as the charts go along, None where it was not reached.
    """

    charge: ChargeSeries
    projected: ProjectedSeries
    predicted: PredictedSeries
    speed: SpeedSeries
    profile: ProfileSeries
    stretches: StretchSeries
    way: WaySeries
    reached_km: float | None


def floats(values: list[float] | tuple[float, ...]) -> Floats:
    """Return values as an array that nobody can change."""
    array: NDArray[np.float64] = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array
