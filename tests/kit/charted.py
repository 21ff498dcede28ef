"""A made-up drive as it goes on a map."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal

from logger.core.chart import Chart
from logger.core.rows import wide_table
from logger.core.track import Track
from logger.model import Drive, Entry, Fix, Origin, Status

NANO = 1_000_000_000
BEGAN = 1_935_558_000_000_000_000
"""2031-05-03T07:00:00Z."""


def entry(
    call: int, at_s: float, quantity: str, value: str | None, unit: str = "", *, note: str = ""
) -> Entry:
    """An accepted entry; an id for each quantity of a call."""
    return Entry(
        id=f"{call}-{quantity}",
        utterance_id=call,
        at_ns=round(at_s * NANO),
        quantity=quantity,
        value=None if value is None else Decimal(value),
        unit=unit,
        status=Status.FLAGGED if quantity == "range_left" else Status.ACCEPTED,
        confidence=0.99,
        origin=Origin.HEARD,
        heard="",
        note=note,
        reason="",
    )


ENTRIES = (
    entry(1, 10, "charge", "80", "%"),
    entry(1, 10, "trip", "0.2", "mi"),
    entry(2, 40, "note", None, note='a & b <c> "\x0b" –'),
    entry(3, 50, "range_left", "109", "mi"),
    entry(3, 50, "clock", "460", "min"),
    entry(4, 5000, "charge", "79", "%"),
)
"""Four calls; nobody knows where the last one was said."""


def fix(second: float, lat_deg: float, lon_deg: float, *, full: bool = True) -> Fix:
    """A fix so many seconds after the start; with all that a receiver may tell, or only the place."""
    at = BEGAN + round(second * NANO)
    if not full:
        return Fix(at, lat_deg, lon_deg)
    return Fix(at, lat_deg, lon_deg, 120.0 + 40.0 * math.sin(second / 7.0), 24.0 + second / 100.0, 0.9)


def eastward(
    seconds: Iterable[float],
    *,
    from_lon_deg: float = 0.5,
    lat_deg: float = 45.1234567891234,
    full: bool = True,
) -> list[Fix]:
    """A car that goes some 25 m/s east, over the antimeridian if it comes to that."""
    step_deg = 25.0 / (111_320.0 * math.cos(math.radians(lat_deg)))
    return [
        fix(second, lat_deg, (from_lon_deg + second * step_deg + 180.0) % 360.0 - 180.0, full=full)
        for second in seconds
    ]


def chart(fixes: Iterable[Fix], *, name: str = "loop", entries: Iterable[Entry] = ENTRIES) -> Chart:
    """A drive along these fixes."""
    track, _ = Track.from_fixes(fixes)
    return Chart(name, BEGAN, track, wide_table(entries, Drive(BEGAN, ""), track.at))
