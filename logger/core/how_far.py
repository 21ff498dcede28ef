"""The answer to "how far": the charge's range and what is left of it, and whether to turn round, in words. Pure.

What is spoken is short; the reasoning has every number that it rests on. It says what the figures say; the driver decides.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from logger.core.charge_left import (
    LEAST_USED,
    ChargeAt,
    Left,
    charge_left,
    charges_since_charging,
)
from logger.core.rows import PlaceAt
from logger.core.track import Track
from logger.core.turning import Advice, Turn, advice_on
from logger.core.units import METRES, Distances
from logger.core.way import Way
from logger.core.way_back import Standing, standing, unseen_m
from logger.model import Drive, Entry

_WORDS = {"mi": "miles", "km": "kilometers"}
_UNTOLD_M = 100.0
_WIND = "the wind ahead is not known, and one that helped until here will hinder on the way back"


@dataclass(frozen=True, slots=True)
class Reach:
    """An answer: what is said, and what it rests on.

    `left` is None where nothing can be said of the charge, `advice` where nothing can be said of turning round.
    """

    spoken: str
    reasoning: str
    left: Left | None = None
    advice: Advice | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked on a drive.

    Attributes:
        drive: when it began.
        distances: what the answer is given in.
        way: the way back to the start, None where the sheet has none.
    """

    drive: Drive
    distances: Distances
    way: Way | None = None


def how_far(
    entries: Sequence[Entry], place_at: PlaceAt, track: Track | None, now_utc_ns: int, asked: Asked
) -> Reach:
    """Return how far the car will get, and whether to turn round.

    Args:
        entries: all that have a say in it, of the whole drive.
        place_at: the track until now.
        track: the same, as one; None while there is no fix.
        now_utc_ns: this moment.
        asked: on which drive, and how the answer is to be.
    """
    charges = charges_since_charging(entries, asked.drive, place_at)
    if len(charges) < 2 or track is None:
        return Reach("not known yet", "fewer than two accepted charges with a place on the track")
    beyond_m = unseen_m(track, now_utc_ns)
    left = charge_left(charges[0], charges[-1], track.length_m + (beyond_m or 0.0))
    if left is None:
        return Reach("not known yet", _too_little(charges[0], charges[-1], asked.distances))
    reach = _reach(left, asked.distances)
    if beyond_m is None:
        return _without_way(reach, "no position for minutes", asked.way)
    if beyond_m > 0.0:
        seen = f"{_told(beyond_m, asked.distances)} of it by the last speed, without a position"
        reach = Reach(reach.spoken, f"{reach.reasoning}; {seen}", left)
    if asked.way is None:
        return reach
    here = standing(track, asked.way, asked.drive.began_utc_ns, beyond_m)
    if isinstance(here, str):
        return _without_way(reach, here, asked.way)
    return _with_advice(reach, left, here, asked.way, asked.distances)


def _too_little(first: ChargeAt, newest: ChargeAt, distances: Distances) -> str:
    used, driven_m = first.percent - newest.percent, newest.distance_m - first.distance_m
    went = f"{used:g} points over {_told(driven_m, distances)}"
    return f"the charge fell by {went} only; it takes {LEAST_USED:g} points and 1 km"


def _reach(left: Left, distances: Distances) -> Reach:
    first, newest = left.first, left.newest
    since = f", {_told(left.since_m, distances)} were driven since" if left.since_m >= _UNTOLD_M else ""
    reasoning = (
        f"{_told(newest.distance_m - first.distance_m, distances)} on {first.percent - newest.percent:g} points of charge "
        f"({first.percent:g} % to {newest.percent:g} %) is {_told(left.range_m, distances)} on 100; {newest.percent:g} "
        f"points are left{since}: {_told(left.likely_m, distances)} to empty, and {_told(left.least_m, distances)} to "
        f"{_told(left.most_m, distances)} as the display is rounded"
    )
    unit = _WORDS[distances]
    spoken = f"{left.likely_m / METRES[distances]:.0f} {unit} to empty, range {left.range_m / METRES[distances]:.0f}"
    return Reach(spoken, reasoning, left)


def _without_way(reach: Reach, why: str, way: Way | None) -> Reach:
    if way is None:
        return Reach(reach.spoken, f"{reach.reasoning}; {why}", reach.left)
    return Reach(f"{reach.spoken}; way back not known", f"{reach.reasoning}; {why}", reach.left)


def _with_advice(reach: Reach, left: Left, here: Standing, way: Way, distances: Distances) -> Reach:
    advice = advice_on(left, here, way)
    reserve = f"{_told(advice.reserve_m, distances)} of reserve"
    if way.reserve_points:
        reserve += f" ({way.reserve_points:g} points)"
    spare = _told(max(0.0, left.least_m - advice.reserve_m), distances)
    reasoning = (
        f"{reach.reasoning}; {_where(here, distances)}; the least less {reserve} is {spare}: "
        f"{_conclusion(here, advice, distances)}; {_WIND}"
    )
    return Reach(_spoken(left, here, advice, distances), reasoning, left, advice)


def _where(here: Standing, distances: Distances) -> str:
    back = _told(here.back_m, distances)
    if here.on_m is None:
        return f"the start is {back} back the way the car came"
    on = _told(here.on_m, distances)
    if here.retracing:
        return f"the start is {on} on, by the way the car came out"
    return f"lap {here.lap} of {_told(here.lap_m, distances)}: {on} on to the start, {back} back"


def _conclusion(here: Standing, advice: Advice, distances: Distances) -> str:
    match advice.turn:
        case Turn.GO_ON if advice.laps:
            return f"{_laps(advice.laps, here)}, and not another"
        case Turn.GO_ON:
            return f"go on, and turn round within {_told(advice.room_m, distances)}"
        case Turn.TO_THE_START:
            return "enough to the start"
        case Turn.LAST_LAP:
            return "enough to the start, and not for a further lap"
        case Turn.INTO_RESERVE:
            return "the way to the start takes of the reserve"
        case Turn.TURN_ROUND:
            return "turn round now"
        case Turn.OUT_OF_REACH:
            return "the charge may not last to the start"


def _spoken(left: Left, here: Standing, advice: Advice, distances: Distances) -> str:
    """What a driver needs, in one short breath: rounded to the safe side, to empty down and to the start up."""
    unit, name = METRES[distances], _WORDS[distances]
    empty, back = math.floor(left.likely_m / unit), math.ceil(here.back_m / unit)
    if here.on_m is None and advice.turn is Turn.GO_ON:
        return f"{empty} {name} to empty, {back} back; turn within {math.floor(advice.room_m / unit)}"
    if advice.turn is Turn.TURN_ROUND:
        return f"turn round now by these figures; {back} {name} back"
    if advice.turn is Turn.OUT_OF_REACH and (here.on_m is None or here.back_m < here.on_m):
        return f"turn round now, the start may be out of reach; {back} {name} back, {empty} to empty"
    figures = f"{empty} {name} to empty, {math.ceil((here.on_m or 0.0) / unit)} to the start"
    match advice.turn:
        case Turn.LAST_LAP:
            return f"{figures}; end there by these figures"
        case Turn.INTO_RESERVE:
            return f"{figures}; this takes of the reserve"
        case Turn.OUT_OF_REACH:
            return f"the start may be out of reach by these figures; {figures}"
        case _:
            return f"{figures}; {_laps(advice.laps, here) if advice.laps else 'enough'}"


def _laps(count: int, here: Standing) -> str:
    fit = "1 more lap fits" if count == 1 else f"{count} more laps fit"
    return f"{fit} after this one" if here.on_m else fit  # at the start, none is under way


def _told(metres: float, distances: Distances) -> str:
    return f"{metres / METRES[distances]:.1f} {distances}"
