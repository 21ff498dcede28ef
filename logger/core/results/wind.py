"""The wind along the way, by leg, from a noted wind. Pure."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from logger.core.geodesy import Floats, from_place_m
from logger.core.results.altitude import NO_TRACK
from logger.core.results.blowing import drag_factor, wind_of
from logger.core.results.course import Course, course_of
from logger.core.results.figures import Absent, Figure, Line, Section
from logger.core.results.observed import Observed
from logger.core.results.telling import within
from logger.core.results.told import told_by
from logger.core.table import Cell, Column, Kind, Table, fixed
from logger.core.units import KMH_PER_MPS

MOST_LAPS = 40
_NOTED = ("headwind", "tailwind", "crosswind", "wind shift")
_COVERS = "the noted wind as it may have been off and wandered, not shelter and gusts"

LEG_COLUMNS = (
    Column("leg", Kind.TEXT, "", "Which part of the way."),
    Column("from_distance", Kind.NUMBER, "km", "Where it begins, by GPS."),
    Column("to_distance", Kind.NUMBER, "km", "Where it ends."),
    Column("speed", Kind.NUMBER, "km/h", "The mean speed under way.", absent="the leg is too short"),
    Column(
        "headwind",
        Kind.NUMBER,
        "m/s",
        "The mean wind against the car; below 0 from behind.",
        absent="as above",
    ),
    Column("drag", Kind.NUMBER, "%", "By how much air drag was more than in calm air.", absent="as above"),
)


@dataclass(frozen=True, slots=True)
class Leg:
    """A part of the way."""

    name: str
    from_m: float
    to_m: float


def wind(seen: Observed) -> Section:
    """Return the wind along the way and what it does to air drag, in all and by leg."""
    labels = {"speed": "Noted wind", "headwind": "Mean headwind", "drag": "Air drag against calm air"}
    noted = wind_of(told_by(seen.test))
    course = NO_TRACK if seen.track is None else course_of(seen.track)
    remarks = _notes(seen)
    if isinstance(noted, str) or isinstance(course, str):
        why = noted if isinstance(noted, str) else str(course)
        speed = told_by(seen.test).get("wind")
        first = Absent(why) if speed is None else Figure(speed / KMH_PER_MPS, "m/s")
        lines = [Line("speed", labels["speed"], first)]
        lines += [Line(key, label, Absent(why)) for key, label in labels.items() if key != "speed"]
        return Section("wind", "Wind", tuple(lines), remarks=remarks)
    headwind = noted.headwind_mps(course)
    lengths, speed_mps = course.lengths_m, course.speed_mps
    modes = noted.modes_mps(course)
    mean = float(np.average(headwind, weights=lengths))
    mean_sd = float(np.linalg.norm(modes @ lengths) / lengths.sum())
    factor = drag_factor(speed_mps, headwind, lengths)
    ends = [[drag_factor(speed_mps, headwind + way * mode, lengths) for way in (1.0, -1.0)] for mode in modes]
    up, down = np.array(ends).T
    factor_sd = float(np.sqrt(np.sum(((up - down) / 2.0) ** 2 + 2.0 * ((up + down) / 2.0 - factor) ** 2)))
    answers = (
        within(noted.speed_mps, "m/s", noted.along_sd, _COVERS, lowest=0.0),
        within(mean, "m/s", mean_sd, _COVERS, estimate=True, remark="Below 0 is from behind."),
        within(100.0 * (factor - 1.0), "%", 100.0 * factor_sd, _COVERS, estimate=True),
    )
    lines = [Line(key, label, answer) for (key, label), answer in zip(labels.items(), answers, strict=True)]
    rows = tuple(_row(leg, course, headwind) for leg in legs_of(seen, course))
    told = (
        "Drag is of the wind along the way; what blows from the side adds to it a little and is left out.",
        *remarks,
    )
    return Section("wind", "Wind", tuple(lines), (Table("wind_by_leg", LEG_COLUMNS, rows),), told)


def _row(leg: Leg, course: Course, headwind: Floats) -> tuple[Cell, ...]:
    """Return a leg's row."""
    inside = (course.middles_m >= leg.from_m) & (course.middles_m < leg.to_m)
    start: tuple[Cell, ...] = (leg.name, fixed(leg.from_m / 1000.0, 3), fixed(leg.to_m / 1000.0, 3))
    if not inside.any():
        return (*start, None, None, None)
    lengths, speed_mps = course.lengths_m[inside], course.speed_mps[inside]
    drag = drag_factor(speed_mps, headwind[inside], lengths)
    return (
        *start,
        fixed(KMH_PER_MPS * float(lengths.sum() / course.seconds[inside].sum()), 2),
        fixed(float(np.average(headwind[inside], weights=lengths)), 2),
        fixed(100.0 * (drag - 1.0), 1),
    )


def legs_of(seen: Observed, course: Course) -> tuple[Leg, ...]:
    """Return out and back, or laps and quarters of them where the sheet tells a loop, else quarters of the way."""
    assert seen.track is not None
    length_m = float(course.edges_m[-1])
    lap_m = None if seen.way is None else seen.way.lap_m
    if seen.way is not None and lap_m is None:
        track = seen.track
        away_m = from_place_m(track.lat_deg, track.lon_deg, float(track.lat_deg[0]), float(track.lon_deg[0]))
        turn_m = float(track.distance_m[int(np.argmax(away_m))])
        return (Leg("out", 0.0, turn_m), Leg("back", turn_m, length_m))
    if lap_m is None or length_m < lap_m / 2.0 or length_m > MOST_LAPS * lap_m:
        quarters = np.linspace(0.0, length_m, 5).tolist()
        return tuple(
            Leg(f"quarter {number} of the way", begin, end)
            for number, (begin, end) in enumerate(itertools.pairwise(quarters), start=1)
        )
    legs = []
    for lap in range(int(np.ceil(length_m / lap_m - 0.02))):
        begin, end = lap * lap_m, min((lap + 1) * lap_m, length_m)
        legs.append(Leg(f"lap {lap + 1}", begin, end))
        for quarter in range(4):
            since, until = begin + quarter * lap_m / 4.0, begin + (quarter + 1) * lap_m / 4.0
            if since < end:
                legs.append(Leg(f"lap {lap + 1}, quarter {quarter + 1}", since, min(until, end)))
    return tuple(legs)


def _notes(seen: Observed) -> tuple[str, ...]:
    """Return what was noted of the wind on the way."""
    noted = [each for each in seen.notes if each.text.startswith(_NOTED)]
    if not noted:
        return ()
    told = ", ".join(
        each.text if each.gps_km is None else f"{each.text} at {each.gps_km:.0f} km" for each in noted[:8]
    )
    more = f" and {len(noted) - 8} more" if len(noted) > 8 else ""
    return (f"Noted on the way: {told}{more}; a note tells no speed, so nothing is computed from it.",)
