"""A drive of any length, to measure how time grows: ordinary drives end to end, the car charged in between."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import cycle

from logger.model import Place
from rehearsed.car import outing_of
from rehearsed.comparing import Outcome, reconciled
from rehearsed.records import RehearsedCall, RehearsedDrive
from rehearsed.tracks import PlaceAt, began_utc_ns, real_track

_PAUSE_S = 1800.0
_NOTES = (("note charging", 60.0), ("note unplugged", 1700.0), ("note trip reset", 1720.0))
"""What is said in a pause, and when."""


@dataclass(frozen=True, slots=True)
class Leg:
    """One drive's part of a long one: its own track's time and way are these less."""

    drive: RehearsedDrive
    begins_s: float
    begins_m: float


def long_drive(drives: Sequence[RehearsedDrive], calls: int) -> tuple[RehearsedDrive, PlaceAt]:
    """Return a drive of exactly so many calls from drives in one system of units, again and again, and its track."""
    legs: list[Leg] = []
    said: list[RehearsedCall] = []
    begins_s = begins_m = 0.0
    for drive in cycle(drives):
        outing = outing_of(drive.seed)
        legs.append(Leg(drive, begins_s, begins_m))
        said += [replace(call, at_s=call.at_s + begins_s) for call in drive.calls]
        ends_s = begins_s + outing.ends_s
        said += [_note(words, ends_s + after_s) for words, after_s in _NOTES]
        if len(said) >= calls:
            break
        begins_s = ends_s + _PAUSE_S
        begins_m += float(outing.distance_m[-1])
    return replace(drives[0], name=f"{calls} calls", calls=tuple(said[:calls])), _track(legs)


def timed(drives: Sequence[RehearsedDrive], calls: int) -> Outcome:
    """Reconcile a drive of so many calls."""
    drive, place_at = long_drive(drives, calls)
    return reconciled(drive, place_at)


def _note(words: str, at_s: float) -> RehearsedCall:
    heard = ((words, 0.0),)
    return RehearsedCall(at_s, 1.2, words, words, (), heard, heard)


def _track(legs: Sequence[Leg]) -> PlaceAt:
    began_ns = began_utc_ns(legs[0].drive)
    tracks = {leg.drive.seed: real_track(leg.drive.seed) for leg in legs}
    begun_ns = {leg.drive.seed: began_utc_ns(leg.drive) for leg in legs}
    begins_s = [leg.begins_s for leg in legs]

    def at(utc_ns: int) -> Place | None:
        at_s = (utc_ns - began_ns) / 1e9
        leg = legs[max(0, bisect_right(begins_s, at_s) - 1)]
        seed = leg.drive.seed
        place = tracks[seed].at(begun_ns[seed] + round((at_s - leg.begins_s) * 1e9))
        if place is None:
            return None
        # Not by `replace`, which takes as long as finding the place.
        driven_m = place.distance_m + leg.begins_m
        return Place(place.lat_deg, place.lon_deg, driven_m, place.speed_mps, place.gap_s)

    return at
