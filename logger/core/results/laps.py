"""Where laps of a loop begin and end, or where a drive out and back turned round. Pure.

A lap ends where `loop complete` was noted, else, on a loop that the sheet tells, where the track comes by the start again.
Out and back turns where `turning round` was noted, else, where the sheet tells of it, at the farthest point from the start.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from logger.core.geodesy import Floats
from logger.core.results.observed import Observed
from logger.core.results.stretch import Stretch
from logger.core.track import Track

NEAR_START_KM = 0.15
LEAST_LEG_KM = 2.0
_SHARE_OF_LAP = 0.5
_NANO = 1e9


@dataclass(frozen=True, slots=True)
class Leg:
    """A part of the way: from and to how far along the stretch, in km."""

    name: str
    from_km: float
    to_km: float


def legs(seen: Observed, stretch: Stretch, origin_km: float) -> tuple[Leg, ...]:
    """Return the legs of the stretch that counts, in order; () where none can be told."""
    if seen.track is None:
        return ()
    noted = [
        note.gps_km
        for note in seen.notes
        if note.text == "loop complete" and note.gps_km is not None and stretch.holds(note.at_s)
    ]
    loop = seen.way is not None and seen.way.lap_m is not None
    if noted or loop:
        ends = noted or _passes(seen)
        return _named(ends, origin_km)
    turns = [
        note.gps_km
        for note in seen.notes
        if note.text == "turning round" and note.gps_km is not None and stretch.holds(note.at_s)
    ]
    turn = turns[0] if turns else _farthest(seen)
    if turn is None:
        return ()
    end_km = float(seen.track.distance_m[-1]) / 1000.0
    if turn - origin_km < LEAST_LEG_KM or end_km - turn < LEAST_LEG_KM:
        return ()
    return Leg("out", 0.0, turn - origin_km), Leg("back", turn - origin_km, end_km - origin_km)


def _named(ends: list[float], origin_km: float) -> tuple[Leg, ...]:
    edges = [0.0, *(end - origin_km for end in ends if end - origin_km >= LEAST_LEG_KM)]
    return tuple(
        Leg(f"lap {number}", begin, end)
        for number, (begin, end) in enumerate(itertools.pairwise(edges), start=1)
    )


def _away_km(track: Track, start: tuple[float, float]) -> Floats:
    """Distance of each fix from the start, as on a plane that touches the earth there: for finding the nearest and the farthest."""
    lon_off = (track.lon_deg - start[1] + 180.0) % 360.0 - 180.0
    east = lon_off * np.cos(np.radians(start[0])) * 111.32
    north = (track.lat_deg - start[0]) * 111.13
    return np.asarray(np.hypot(east, north))


def _start(seen: Observed) -> tuple[float, float] | None:
    if seen.track is None:
        return None
    if seen.way is not None and seen.way.start is not None:
        return seen.way.start
    return float(seen.track.lat_deg[0]), float(seen.track.lon_deg[0])


def _passes(seen: Observed) -> list[float]:
    """Return how far by GPS the car had driven each time it came by the start again."""
    start, track = _start(seen), seen.track
    if start is None or track is None or seen.way is None or seen.way.lap_m is None:
        return []
    lap_km = seen.way.lap_m / 1000.0
    km, away = track.distance_m / 1000.0, _away_km(track, start)
    near = np.flatnonzero(away <= NEAR_START_KM)
    found: list[float] = []
    for group in np.split(near, np.flatnonzero(np.diff(km[near]) > 1.0) + 1) if len(near) else []:
        at = float(km[group[int(np.argmin(away[group]))]])
        if at - (found[-1] if found else 0.0) >= _SHARE_OF_LAP * lap_km:
            found.append(at)
    return found


def _farthest(seen: Observed) -> float | None:
    """Return how far by GPS the car had driven at the farthest point of out and back."""
    start, track = _start(seen), seen.track
    if start is None or track is None or seen.way is None or seen.way.lap_m is not None:
        return None
    return float(track.distance_m[int(np.argmax(_away_km(track, start)))]) / 1000.0
