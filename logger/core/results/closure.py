"""Whether the way closes: start against end, in place and height, and how many laps it was. Pure."""

from __future__ import annotations

import math

import numpy as np

from logger.core.geodesy import from_place_m, step_lengths_m
from logger.core.results.altitude import NO_TRACK
from logger.core.results.course import NO_DISTANCES, has_distances
from logger.core.results.figures import YES_NO, Absent, Answer, Figure, Line, Section
from logger.core.results.ground import Ground, ground_of
from logger.core.results.observed import Observed
from logger.core.results.telling import within
from logger.core.track import Track
from logger.core.way import LEAST_LAP_M

CLOSED_SHARE = 0.01
"""The ends of a closed way are no farther apart than this share of it."""
CLOSED_CLIMB_M = 30.0
"""Nor in height; lifting a car by 30 m takes what it uses in half a kilometre."""
POSITION_M = 10.0
"""95 % of a receiver's positions are so near (common practice, in the open)."""

_LABELS = {
    "gap": "Distance between start and end",
    "altitude_difference": "End above start",
    "laps": "Laps",
    "farthest": "Farthest from the start",
    "closed": "Closed",
}


def closure(seen: Observed) -> Section:
    """Return how far the track's end is from its start, and whether the way counts as closed."""
    track = seen.track
    if track is None or len(track.utc_ns) < 2 or not has_distances(track):
        why = NO_TRACK
        if track is not None:
            why = "The track has one fix only." if len(track.utc_ns) < 2 else NO_DISTANCES
        lines = tuple(Line(key, label, Absent(why)) for key, label in _LABELS.items())
        return Section("closure", "Loop closure", lines)
    gap_m = float(step_lengths_m(track.lat_deg[[0, -1]], track.lon_deg[[0, -1]])[0])
    farthest_m = _farthest_m(track, gap_m)
    rise = _rise(track)
    off_m = POSITION_M * math.sqrt(2.0)
    positions = "the receiver's positions, each within 10 m"
    answers: dict[str, Answer] = {
        "gap": Figure(gap_m, "m", max(0.0, gap_m - off_m), gap_m + off_m, positions),
        "altitude_difference": rise,
        "laps": _laps(seen, track),
        "farthest": Figure(farthest_m / 1000.0, "km"),
        "closed": _closed(track, gap_m, farthest_m, rise),
    }
    lines = tuple(Line(key, label, answers[key]) for key, label in _LABELS.items())
    return Section("closure", "Loop closure", lines, remarks=("Start and end are those of the track.",))


def _farthest_m(track: Track, gap_m: float) -> float:
    away_m = from_place_m(track.lat_deg, track.lon_deg, float(track.lat_deg[0]), float(track.lon_deg[0]))
    there = int(np.argmax(away_m))
    # Far from the start the quick measure is not good; the geodesic is.
    ends = step_lengths_m(track.lat_deg[[0, there]], track.lon_deg[[0, there]])
    return max(float(ends[0]), gap_m)


def _rise(track: Track) -> Answer:
    ground = ground_of(track)
    if not isinstance(ground, Ground):
        return Absent(ground)
    rise = float(ground.height_m[-1] - ground.height_m[0])
    others = ground.others_m[:, -1] - ground.others_m[:, 0]
    sd = float(np.sqrt(np.mean((others - rise) ** 2)))
    return within(rise, "m", sd, "the receiver's noise as this drive shows it, not a drift over the hours")


def _laps(seen: Observed, track: Track) -> Answer:
    lap_m = None if seen.way is None else seen.way.lap_m
    noted = sum(each.text.startswith("loop complete") for each in seen.notes)
    heard = f" {noted} times 'loop complete' was noted." if noted else ""
    if lap_m is None:
        return Absent(f"The sheet tells no loop; write its length under [loop].{heard}")
    return Figure(
        track.length_m / lap_m, "", remark=f"The distance by GPS over the sheet's length of the loop.{heard}"
    )


def _closed(track: Track, gap_m: float, farthest_m: float, rise: Answer) -> Answer:
    bound_m = CLOSED_SHARE * track.length_m
    if farthest_m < LEAST_LAP_M / 2.0:
        return Absent(f"The car was never farther than {farthest_m:.0f} m from its start.")
    lifted = isinstance(rise, Figure) and abs(rise.value) > CLOSED_CLIMB_M
    closed = gap_m <= bound_m and not lifted
    bounds = f"ends at most 1 % of the way ({bound_m:.0f} m) and {CLOSED_CLIMB_M:g} m of height apart"
    if closed:
        remark = f"Closed is {bounds}: what climb and a steady wind gave on one part they took on another."
    elif lifted and gap_m <= bound_m:
        remark = f"Closed is {bounds}; the heights are too far apart."
    else:
        remark = (
            f"Closed is {bounds}; these are {gap_m / 1000.0:.2f} km apart, so wind and climb do not cancel."
        )
    return Figure(float(closed), YES_NO, remark=remark)
