"""Where on Earth and when a rehearsed drive begins; everything follows from its seed."""

from __future__ import annotations

import random
from dataclasses import dataclass

NANO = 1_000_000_000
_YEAR_BEGAN_S = 1_924_992_000
"""2031-01-01T00:00:00Z."""
_DAY_S = 86_400


@dataclass(frozen=True, slots=True)
class Departure:
    """The centre of the loop, the time zone of its longitude, and the drive clock's 0."""

    lat_deg: float
    lon_deg: float
    zone_h: int
    began_utc_s: int

    @property
    def began_utc_ns(self) -> int:
        """The drive clock's 0."""
        return self.began_utc_s * NANO

    def minute_at(self, at_s: float) -> int:
        """Return what the dash's clock shows: whole minutes after midnight, in the zone."""
        return int(self.began_utc_s + 3600 * self.zone_h + at_s) % _DAY_S // 60


def departure_of(seed: int) -> Departure:
    """Return when and where the drive of a seed begins: some morning of 2031."""
    rng = random.Random(f"rehearsed departure {seed}")
    lon_deg = rng.uniform(-122.0, 28.0)
    zone_h = round(lon_deg / 15.0)
    local_s = round(rng.uniform(6.5, 11.0) * 3600.0)
    began = _YEAR_BEGAN_S + rng.randrange(365) * _DAY_S + local_s - 3600 * zone_h
    return Departure(rng.uniform(36.0, 58.0), lon_deg, zone_h, began)
