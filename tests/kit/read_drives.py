"""Drives put together by hand for the tests of results: what was read off, at which kilometre of a straight road at one speed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

import numpy as np

from logger.core.results.observed import Observed, observed
from logger.core.track import Track
from logger.core.way import Way
from logger.model import Alternative, Drive, Entry, Origin, Status

NANO = 1_000_000_000
BEGAN_NS = 1_924_992_000 * NANO
SPEED_KMH = 100.0
_KM_A_DEGREE = 111.13
_LAT_DEG, _LON_DEG = 48.0, -20.0

Said = tuple[float, str, str, str]
"""Kilometre, quantity, value and unit; a note is its kilometre, `note` and its text."""


def at_ns(km: float) -> int:
    """Return when the car is at a kilometre, on the drive clock."""
    return round(km / SPEED_KMH * 3600.0 * NANO)


def entry(
    number: int,
    km: float,
    quantity: str,
    value: str,
    unit: str = "",
    *,
    status: Status = Status.ACCEPTED,
    alternatives: Iterable[str] = (),
) -> Entry:
    """Return an entry of a call of its own."""
    note = quantity == "note"
    others = tuple(Alternative(Decimal(each), unit, each, 0.3) for each in alternatives)
    return Entry(
        id=f"{number}-1",
        utterance_id=number,
        at_ns=at_ns(km),
        quantity=quantity,
        value=None if note or not value else Decimal(value),
        unit="" if note else unit,
        status=status,
        confidence=1.0,
        origin=Origin.HEARD,
        heard="",
        note=value if note else "",
        reason="",
        alternatives=others,
    )


def straight_track(length_km: float, *, from_km: float = 0.0, back_from_km: float | None = None) -> Track:
    """Return a track due north at `SPEED_KMH`, a fix a second; from a kilometre on back the way it came."""
    begin_s, end_s = (round(km / SPEED_KMH * 3600.0) for km in (from_km, length_km))
    seconds = np.arange(begin_s, end_s + 1)
    km = seconds * (SPEED_KMH / 3600.0)
    out = km if back_from_km is None else np.where(km > back_from_km, 2.0 * back_from_km - km, km)
    count = len(seconds)
    return Track(
        utc_ns=BEGAN_NS + seconds.astype(np.int64) * NANO,
        lat_deg=_LAT_DEG + out / _KM_A_DEGREE,
        lon_deg=np.full(count, _LON_DEG),
        altitude_m=np.full(count, np.nan),
        speed_mps=np.full(count, SPEED_KMH / 3.6),
        distance_m=(km - km[0]) * 1000.0,
    )


def seen(
    said: Iterable[Said | tuple[float, str, str]],
    *,
    track: Track | None = None,
    test: Mapping[str, str | int | float | bool] | None = None,
    doubts: Iterable[Entry] = (),
    way: Way | None = None,
) -> Observed:
    """Return a drive in which so much was read off."""
    entries = [entry(number, *each) for number, each in enumerate(said, start=1)]
    return observed(Drive(BEGAN_NS, ""), [*entries, *doubts], track, test=test or {}, way=way, distances="km")


def charges(km_a_point: float, percents: Iterable[int], *, first: int = 100) -> list[Said]:
    """Return charges read off evenly: each percent just as it appears on a display that rounds to the nearest."""
    return [(max(0.0, (first - each - 0.5) * km_a_point), "charge", str(each), "%") for each in percents]
