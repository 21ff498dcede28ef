"""How steadily the speed was held, with stops and detours counted and cut out. Pure.

Stops are where the car stood for five seconds or more by GPS. A detour lasts from its note until the next note "moving" or
"detour"; where none follows nobody told how long it was, so it is counted and not cut out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logger.core.geodesy import Floats
from logger.core.results.altitude import NO_TRACK
from logger.core.results.course import Steps, steps_of
from logger.core.results.figures import Absent, Answer, Figure, Line, Section
from logger.core.results.observed import Note, Observed
from logger.core.results.series import SpeedSeries
from logger.core.results.told import told_by
from logger.core.table import Cell, Column, Kind, Table, fixed
from logger.core.track import Track
from logger.core.units import KMH_PER_MPS, METRES

DISTANCE_SHARE = 0.002
"""GPS distance is right within this share (95 %; on simulated drives it is within half of it, see tests/logger/core/test_driven.py)."""
BIN_KMH = 1.0
_AROUND = 5
_ENDS_DETOUR = ("moving", "detour")

WAYS = ("as driven", "stops cut out", "stops and detours cut out")
COLUMNS = (
    Column("counted", Kind.TEXT, "", "What is counted.", choices=WAYS),
    Column("time", Kind.NUMBER, "s", "How long it is."),
    Column("distance", Kind.NUMBER, "km", "How far, by GPS."),
    Column("mean_speed", Kind.NUMBER, "km/h", "Distance over time.", absent="there is no time"),
    Column("speed_sd", Kind.NUMBER, "km/h", "Standard deviation over time.", absent="as above"),
    Column("within_first", Kind.NUMBER, "%", "Of the time within 1 mph, or 2 km/h.", absent="as above"),
    Column("within_second", Kind.NUMBER, "%", "Of the time within 2 mph, or 3.2 km/h.", absent="as above"),
)


@dataclass(frozen=True, slots=True)
class _Count:
    """A part of the drive in numbers; speeds in km/h, shares in percent."""

    seconds: float
    metres: float
    mean: float
    sd: float
    within: tuple[float, float]


def tolerances_kmh(seen: Observed) -> tuple[tuple[str, float], tuple[str, float]]:
    """Return the two tolerances by name, in km/h.

    1 and 2 mph, or for a dash in kilometres 2 km/h (ADR 18/03, for a nominated steady speed) and 3.2 km/h (of driving cycles).
    """
    if seen.distances == "mi":
        mph = METRES["mi"] / 1000.0
        return ("1 mph", mph), ("2 mph", 2.0 * mph)
    return ("2 km/h", 2.0), ("3.2 km/h", 3.2)


def steadiness(seen: Observed) -> Section:
    """Return mean speeds, how long the speed was near the target, and stops and detours."""
    bounds = tolerances_kmh(seen)
    labels = {
        "target": "Target speed",
        "mean_overall": "Mean speed, stops counted",
        "mean_moving": "Mean speed, stops cut out",
        "mean_held": "Mean speed, stops and detours cut out",
        "speed_sd": "Standard deviation of the speed",
        "within_first": f"Time within {bounds[0][0]} of the target",
        "within_second": f"Time within {bounds[1][0]} of the target",
        "stops": "Stops",
        "stopped": "Time standing",
        "detours": "Detours noted",
        "unseen": "Time without fixes",
    }
    steps = None if seen.track is None else steps_of(seen.track)
    held = None if steps is None else _parts(seen, steps)
    if steps is None or held is None:
        why = NO_TRACK if seen.track is None else "The car did not move by GPS."
        lines = [Line(key, label, Absent(why)) for key, label in labels.items()]
        return Section("steadiness", "Steadiness", tuple(lines))
    assert seen.track is not None
    speeds = _speeds_kmh(seen.track, steps)
    target, from_sheet = _target(seen, steps, speeds, held[1])
    counts = [_count(steps, speeds, each, target, bounds) for each in held]
    overall, moving, cut = counts
    answers: dict[str, Answer] = {
        "target": Figure(target, "km/h", remark="" if from_sheet else _MEDIAN),
        "mean_overall": _mean(overall),
        "mean_moving": _mean(moving),
        "mean_held": _mean(cut),
        "speed_sd": _spread(cut.sd, "km/h", "Stops and detours cut out."),
        "within_first": _spread(cut.within[0], "%", "Of the time under way, stops and detours cut out."),
        "within_second": _spread(cut.within[1], "%", "Of the time under way, stops and detours cut out."),
        "stops": Figure(float(len(steps.stops)), ""),
        "stopped": Figure(float(steps.seconds[steps.stands].sum()), "s"),
        "detours": Figure(float(sum(_is(note, "detour") for note in seen.notes)), ""),
        "unseen": Figure(float(steps.seconds[~steps.seen].sum()), "s"),
    }
    rows = tuple(_row(name, count) for name, count in zip(WAYS, counts, strict=True))
    lines = [Line(key, label, answers[key]) for key, label in labels.items()]
    return Section(
        "steadiness", "Steadiness", tuple(lines), (Table("steadiness", COLUMNS, rows),), _remarks(seen)
    )


_MEDIAN = (
    "The sheet tells none (target_gps_speed_kmh or target_gps_speed_mph); this is the median speed under way."
)


def _is(note: Note, text: str) -> bool:
    return note.text == text or note.text.startswith(f"{text} ")


def _detours(seen: Observed) -> list[tuple[float, float | None]]:
    """Return when each detour began and ended, in seconds of the drive; None where nobody told."""
    found: list[tuple[float, float | None]] = []
    open_s: float | None = None
    for note in seen.notes:
        if open_s is not None and any(_is(note, each) for each in _ENDS_DETOUR):
            found.append((open_s, note.at_s))
            open_s = None
        elif _is(note, "detour"):
            open_s = note.at_s
    return found if open_s is None else [*found, (open_s, None)]


def _parts(seen: Observed, steps: Steps) -> tuple[NDArray[np.bool_], ...] | None:
    """Return which steps count in each of `WAYS`; None where the car never moved."""
    assert seen.track is not None
    moving = ~steps.stands & (steps.seconds > 0.0)
    if not (moving & steps.seen & (steps.metres > 0.0)).any():
        return None
    offset_s = seen.seconds(seen.track.began_utc_ns)
    cut = moving.copy()
    for begin_s, end_s in _detours(seen):
        if end_s is not None:
            cut &= ~((steps.from_s + offset_s >= begin_s) & (steps.from_s + offset_s < end_s))
    return np.ones(len(moving), dtype=np.bool_), moving, cut


def _speeds_kmh(track: Track, steps: Steps) -> Floats:
    """Return the speed of each step: over five of them where the receiver gave no speeds, since positions are noisier."""
    metres, seconds = steps.metres, steps.seconds
    if _by_position(track) and len(metres) >= _AROUND:
        window = np.ones(_AROUND)
        metres, seconds = (np.convolve(each, window, mode="same") for each in (metres, seconds))
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(KMH_PER_MPS * metres / seconds)


def _by_position(track: Track) -> bool:
    return float(np.mean(np.isnan(track.speed_mps))) > 0.5


def _target(seen: Observed, steps: Steps, speeds: Floats, moving: NDArray[np.bool_]) -> tuple[float, bool]:
    told = told_by(seen.test).get("target_gps_speed")
    if told is not None:
        return told, True
    seconds, speeds = steps.seconds[moving & steps.seen], speeds[moving & steps.seen]
    order = np.argsort(speeds)
    half = int(np.searchsorted(np.cumsum(seconds[order]), seconds.sum() / 2.0))
    return float(speeds[order][min(half, len(order) - 1)]), False


def _count(
    steps: Steps,
    speeds_kmh: Floats,
    counted: NDArray[np.bool_],
    target_kmh: float,
    bounds: tuple[tuple[str, float], tuple[str, float]],
) -> _Count:
    """Count a part of the drive; spread and shares are of what was seen of it."""
    seconds, metres = float(steps.seconds[counted].sum()), float(steps.metres[counted].sum())
    mean = KMH_PER_MPS * metres / seconds if seconds > 0.0 else float("nan")
    seen = counted & steps.seen & (steps.seconds > 0.0)
    weights = steps.seconds[seen]
    if not seen.any():
        return _Count(seconds, metres, mean, float("nan"), (float("nan"), float("nan")))
    speeds = speeds_kmh[seen]
    sd = float(np.sqrt(np.average((speeds - np.average(speeds, weights=weights)) ** 2, weights=weights)))
    shares = [
        100.0 * float(np.average(np.abs(speeds - target_kmh) <= bound, weights=weights))
        for _, bound in bounds
    ]
    return _Count(seconds, metres, mean, sd, (shares[0], shares[1]))


def _mean(count: _Count) -> Answer:
    if not np.isfinite(count.mean):
        return Absent("Nothing is left of the drive there.")
    off = DISTANCE_SHARE * count.mean
    return Figure(count.mean, "km/h", count.mean - off, count.mean + off, "the distance by GPS")


def _spread(value: float, unit: str, remark: str) -> Answer:
    return (
        Figure(value, unit, remark=remark)
        if np.isfinite(value)
        else Absent("Nothing is left of the drive there.")
    )


def _row(name: str, count: _Count) -> tuple[Cell, ...]:
    numbers = (count.mean, count.sd, *count.within)
    cells = [
        fixed(each, places) if np.isfinite(each) else None
        for each, places in zip(numbers, (3, 3, 1, 1), strict=True)
    ]
    return (name, fixed(count.seconds, 0), fixed(count.metres / 1000.0, 3), *cells)


def _remarks(seen: Observed) -> tuple[str, ...]:
    assert seen.track is not None
    slow = (
        (f"The receiver gave no speeds; those of its positions are means over {_AROUND} fixes.",)
        if _by_position(seen.track)
        else ()
    )
    open_detours = sum(end_s is None for _, end_s in _detours(seen))
    if not open_detours:
        return slow
    return (
        *slow,
        "A detour was noted without its end, so it is not cut out; say 'note moving' when back on the way.",
    )


def speed_series(seen: Observed) -> SpeedSeries:
    """Return how many seconds were driven at each speed; none where there is no track."""
    target = told_by(seen.test).get("target_gps_speed")
    steps = None if seen.track is None else steps_of(seen.track)
    counted = None if steps is None else steps.seen & (steps.seconds > 0.0)
    if steps is None or counted is None or not counted.any():
        return SpeedSeries(np.empty(0), np.empty(0), BIN_KMH, target)
    assert seen.track is not None
    speeds = _speeds_kmh(seen.track, steps)[counted]
    bins = (speeds / BIN_KMH).astype(np.int64)
    seconds = np.bincount(bins, steps.seconds[counted])
    first = int(bins.min())
    lower = np.arange(first, len(seconds), dtype=np.float64) * BIN_KMH
    return SpeedSeries(lower, seconds[first:].astype(np.float64), BIN_KMH, target)
