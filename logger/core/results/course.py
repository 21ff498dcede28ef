"""The way driven, step by step and in cells: how fast, in which direction, and where the car stood. Pure.

`Steps` are those from fix to fix. `Course` cuts the way at equal distances and at every stop, which takes the noise out of
directions and speeds: over 200 m a metre of it turns a direction by 0.3 degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from logger.core.driven import OTHER_DAY_S
from logger.core.fixes import GAP_S, TOP_SPEED_MPS
from logger.core.geodesy import Floats, steps_m
from logger.core.track import Track

STANDING_MPS = 0.5
"""Slower than this is standing."""
LEAST_STOP_S = 5.0
"""Standing for less is no stop."""
CELL_M = 200.0

NO_DISTANCES = "The track's distances are no numbers."

_MOST_CELLS = 4_000
_EDGE_S = 5.0
_APART_M = 20.0
_NANO = 1e9


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """The steps between fixes; arrays of shape (n,).

    Attributes:
        from_s: when each begins, seconds after the first fix.
        seconds: how long it took.
        metres: how far the car drove in it.
        stands: whether it belongs to a stop.
        seen: whether fixes were close enough to tell its speed.
        stops: first and last step of each stop.
    """

    from_s: Floats
    seconds: Floats
    metres: Floats
    stands: NDArray[np.bool_]
    seen: NDArray[np.bool_]
    stops: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """The way in cells; `edges_m` and `edge_mps` have shape (n+1,), the other arrays (n,).

    Attributes:
        edges_m: where cells begin and end, along the way; strictly rising.
        edge_mps: the speed there, 0 where the car stopped.
        seconds: time under way in each cell.
        middle_s: when the car was in its middle, seconds after the first fix.
        east, north: the mean direction of driving; its length is 1 on a straight road and less in a bend.
        standing_s: the time of all stops.
    """

    edges_m: Floats
    edge_mps: Floats
    seconds: Floats
    middle_s: Floats
    east: Floats
    north: Floats
    standing_s: float

    @property
    def lengths_m(self) -> Floats:
        """How long each cell is."""
        return np.diff(self.edges_m)

    @property
    def speed_mps(self) -> Floats:
        """The mean speed in each cell."""
        return np.asarray(self.lengths_m / self.seconds)

    @property
    def middles_m(self) -> Floats:
        """Where the middle of each cell is."""
        return np.asarray((self.edges_m[1:] + self.edges_m[:-1]) / 2.0)


def has_distances(track: Track) -> bool:
    """Whether the distances of a track are numbers, as those of one made from fixes always are."""
    return bool(np.isfinite(track.distance_m).all())


@lru_cache(maxsize=4)
def steps_of(track: Track) -> Steps:
    """Return the steps of a track; those between two outings take no time. Remembered for the last few tracks."""
    at_s = (track.utc_ns - track.utc_ns[0]).astype(np.float64) / _NANO
    seconds, metres = np.diff(at_s), np.nan_to_num(np.diff(track.distance_m))
    seconds = np.where(seconds > OTHER_DAY_S, 0.0, seconds)
    slow = metres < STANDING_MPS * seconds
    edges = np.flatnonzero(np.diff(np.concatenate(([False], slow, [False]))))
    stops = tuple(
        (first, after - 1)
        for first, after in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
        if float(seconds[first:after].sum()) >= LEAST_STOP_S
    )
    stands = np.zeros(len(seconds), dtype=np.bool_)
    for first, last in stops:
        stands[first : last + 1] = True
    return Steps(at_s[:-1], seconds, metres, stands, np.asarray(seconds <= GAP_S), stops)


@lru_cache(maxsize=4)
def course_of(track: Track) -> Course | str:
    """Return the way in cells; a sentence where the car hardly drove. Remembered for the last few tracks."""
    if not has_distances(track):
        return NO_DISTANCES
    if track.length_m < 5.0 * CELL_M:
        return f"The car drove only {track.length_m / 1000.0:.2f} km by GPS."
    steps = steps_of(track)
    cell_m = max(CELL_M, track.length_m / _MOST_CELLS)
    grid = np.linspace(0.0, track.length_m, 1 + int(track.length_m // cell_m))
    stops_m = np.array([float(track.distance_m[last + 1]) for _, last in steps.stops])
    edges = _edges(grid, stops_m)
    moving_s = np.concatenate(([0.0], np.cumsum(np.where(steps.stands, 0.0, steps.seconds))))
    # A cell that took no time is one the receiver leapt over.
    seconds = np.maximum(np.diff(_at(edges, track.distance_m, moving_s)), np.diff(edges) / TOP_SPEED_MPS)
    at_s = np.concatenate(([0.0], np.cumsum(steps.seconds)))
    east, north = (
        _at(edges, track.distance_m, np.concatenate(([0.0], np.cumsum(axis))))
        for axis in steps_m(track.lat_deg, track.lon_deg)
    )
    lengths = np.diff(edges)
    east, north = np.diff(east) / lengths, np.diff(north) / lengths
    long = np.maximum(np.hypot(east, north), 1.0)
    return Course(
        edges_m=edges,
        edge_mps=_edge_speeds(edges, moving_s, track.distance_m, stops_m),
        seconds=seconds,
        middle_s=_at((edges[1:] + edges[:-1]) / 2.0, track.distance_m, at_s),
        east=east / long,
        north=north / long,
        standing_s=float(steps.seconds[steps.stands].sum()),
    )


def _edges(grid: Floats, stops_m: Floats) -> Floats:
    """Return the grid with the stops in it; grid points too near a stop, and stops too near an end, are left out."""
    inside = stops_m[(stops_m > _APART_M) & (stops_m < grid[-1] - _APART_M)]
    if len(inside):
        inside = inside[np.concatenate(([True], np.diff(inside) >= _APART_M))]
        nearest = np.min(np.abs(grid[:, None] - inside), axis=1)
        nearest[[0, -1]] = np.inf
        grid = grid[nearest >= _APART_M]
    return np.unique(np.concatenate((grid, inside)))


def _at(where_m: Floats, distance_m: Floats, values: Floats) -> Floats:
    """Return values where the car had driven so far."""
    return np.asarray(np.interp(where_m, distance_m, values))


def _edge_speeds(edges: Floats, moving_s: Floats, distance_m: Floats, stops_m: Floats) -> Floats:
    """Return the speed at each edge: over five seconds around it, and 0 at a stop."""
    when = _at(edges, distance_m, moving_s)
    sooner = np.maximum(when - _EDGE_S / 2.0, 0.0)
    later = np.minimum(when + _EDGE_S / 2.0, moving_s[-1])
    driven = np.interp(later, moving_s, distance_m) - np.interp(sooner, moving_s, distance_m)
    speeds = driven / np.maximum(later - sooner, 1e-3)
    for stop_m in stops_m.tolist():
        speeds[np.abs(edges - stop_m) < _APART_M] = 0.0
    return np.asarray(speeds)
