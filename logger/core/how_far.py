"""How far the charge will still go, by what it went until now. Pure.

    range = distance driven / charge used x 100 %        distance to empty = distance driven / charge used x charge now

Both from the first accepted charge of the drive, since its last charging stop, to the newest one. The dash shows whole
points, so each of the two may be off by half a point: with `u` points used, the answer is off by about 1/u of itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logger.core.rows import PlaceAt
from logger.core.units import Distances
from logger.model import Drive, Entry, Status

LEAST_USED = 3.0
"""Points of charge; with fewer an answer may be off by a third and more."""
_LEAST_M = 1000.0
_M = {"mi": 1609.344, "km": 1000.0}
_WORDS = {"mi": "miles", "km": "kilometers"}
_RESTARTS = frozenset({"charging", "unplugged"})


@dataclass(frozen=True, slots=True)
class Reach:
    """An answer: what is said, and what it rests on; `range_m` and `left_m` are None where nothing can be said."""

    spoken: str
    reasoning: str
    range_m: float | None = None
    left_m: float | None = None


def how_far(
    entries: Sequence[Entry], drive: Drive, place_at: PlaceAt, distances: Distances, now_m: float | None
) -> Reach:
    """Return how far the car will get.

    Args:
        entries: the newest ones; what they begin with is the first charge.
        drive: when it began.
        place_at: the track until now.
        distances: what the answer is given in.
        now_m: the distance driven until this moment, None where nobody knows.
    """
    charges = _charges(entries, drive, place_at)
    if len(charges) < 2:
        return Reach("not known yet", "fewer than two accepted charges with a place on the track")
    (first, first_m), (last, last_m) = charges[0], charges[-1]
    used, driven_m = first - last, last_m - first_m
    if used < LEAST_USED or driven_m < _LEAST_M:
        went = f"{used:g} points over {_told(driven_m, distances)}"
        return Reach(
            "not known yet", f"the charge fell by {went} only; it takes {LEAST_USED:g} points and 1 km"
        )
    range_m = driven_m / used * 100.0
    since_m = max(0.0, now_m - last_m) if now_m is not None else 0.0
    left_m = max(0.0, driven_m / used * last - since_m)
    reasoning = (
        f"{_told(driven_m, distances)} on {used:g} points of charge ({first:g} % to {last:g} %) is "
        f"{_told(range_m, distances)} on 100; {last:g} points are left"
        f"{f', {_told(since_m, distances)} were driven since' if since_m >= 100.0 else ''}: "
        f"{_told(left_m, distances)} to empty, give or take {100.0 / used:.0f} %"
    )
    unit = _WORDS[distances]
    said = f"{left_m / _M[distances]:.0f} {unit} to empty, range {range_m / _M[distances]:.0f}"
    return Reach(said, reasoning, range_m, left_m)


def _charges(entries: Sequence[Entry], drive: Drive, place_at: PlaceAt) -> list[tuple[float, float]]:
    """Return the accepted charges in the order of the drive since the car was last charged, each with its distance."""
    charges: list[tuple[float, float]] = []
    for entry in sorted(entries, key=lambda each: each.at_ns):
        if entry.quantity == "note" and entry.note in _RESTARTS and entry.status is not Status.REJECTED:
            charges.clear()
        if entry.quantity != "charge" or entry.value is None:
            continue
        if entry.status not in {Status.ACCEPTED, Status.CORRECTED}:
            continue
        place = place_at(drive.began_utc_ns + entry.at_ns)
        if place is not None:
            charges.append((float(entry.value), place.distance_m))
    return charges


def _told(metres: float, distances: Distances) -> str:
    return f"{metres / _M[distances]:.1f} {distances}"
