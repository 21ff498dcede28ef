"""How far the charge goes, between which bounds: a straight line through two readings of a rounded display. Pure.

With `a` and `b` the first and the newest charge, `D` the distance between them, u = a - b and `s` the distance since:

    likely = D / u x b - s        at least D / (u + 1) x (b - 0.5) - s        at most D / (u - 1) x (b + 1) - s

A dash that rounds to the nearest shows n for [n - 0.5, n + 0.5), one that rounds down for [n, n + 1), and which it does is
not known: so the truth is in [n - 0.5, n + 1), and as one dash rounds both readings alike, less than u + 1 was used and
more than u - 1. The bounds are those of the display alone: what the road and the wind will cost from here on is not in
them. docs/method.md compares this with other estimates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logger.core.rows import PlaceAt
from logger.model import Drive, Entry, Status

LEAST_USED = 3.0
"""Points of charge; with fewer an answer may be off by a third and more."""
LEAST_DRIVEN_M = 1000.0
_RESTARTS = frozenset({"charging", "unplugged"})


@dataclass(frozen=True, slots=True)
class ChargeAt:
    """A charge that was read off, in percent, and how far the car had driven."""

    percent: float
    distance_m: float


@dataclass(frozen=True, slots=True)
class Left:
    """How far the charge goes.

    Attributes:
        first, newest: the readings that it rests on.
        since_m: what was driven since the newest.
        range_m: on 100 points.
        likely_m, least_m, most_m: from here to empty, none below 0; see above.
        least_m_a_point: metres that a point is good for, at the least.
    """

    first: ChargeAt
    newest: ChargeAt
    since_m: float
    range_m: float
    likely_m: float
    least_m: float
    most_m: float
    least_m_a_point: float


def charges_since_charging(entries: Sequence[Entry], drive: Drive, place_at: PlaceAt) -> tuple[ChargeAt, ...]:
    """Return the accepted charges that have a place, in the order of the drive, since the car was last charged."""
    charges: list[ChargeAt] = []
    for entry in sorted(entries, key=lambda each: each.at_ns):
        if entry.quantity == "note" and entry.note in _RESTARTS and entry.status is not Status.REJECTED:
            charges.clear()
        if entry.quantity != "charge" or entry.value is None:
            continue
        if entry.status not in {Status.ACCEPTED, Status.CORRECTED}:
            continue
        place = place_at(drive.began_utc_ns + entry.at_ns)
        if place is not None:
            charges.append(ChargeAt(float(entry.value), place.distance_m))
    return tuple(charges)


def matters(entry: Entry) -> bool:
    """Whether an entry has a say in how far the charge goes, and is to be remembered as long as the drive lasts."""
    return entry.quantity == "charge" or (entry.quantity == "note" and entry.note in _RESTARTS)


def charge_left(first: ChargeAt, newest: ChargeAt, now_m: float) -> Left | None:
    """Return how far the charge goes from here; None where too little was used, or driven, to say.

    Args:
        first: the first charge since the car was last charged.
        newest: the newest one.
        now_m: the distance driven until this moment.
    """
    used, driven_m = first.percent - newest.percent, newest.distance_m - first.distance_m
    if used < LEAST_USED or driven_m < LEAST_DRIVEN_M:
        return None
    since_m = max(0.0, now_m - newest.distance_m)
    return Left(
        first=first,
        newest=newest,
        since_m=since_m,
        range_m=driven_m / used * 100.0,
        likely_m=max(0.0, driven_m / used * newest.percent - since_m),
        least_m=max(0.0, driven_m / (used + 1.0) * (newest.percent - 0.5) - since_m),
        most_m=max(0.0, driven_m / (used - 1.0) * (newest.percent + 1.0) - since_m),
        least_m_a_point=driven_m / (used + 1.0),
    )
