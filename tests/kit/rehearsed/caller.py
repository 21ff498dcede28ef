"""What a driver calls on a rehearsed drive, and when: what the dash showed about a second before the words."""

from __future__ import annotations

import random
from dataclasses import dataclass

from speechkit.calls import SpokenCall, SpokenReading, System, call, command, reading

from rehearsed.car import Outing, outing_of
from rehearsed.dash import Dash, Shown
from rehearsed.twists import NO_TWIST, Twist

LOOK_S = 1.0
"""How long before its first word a driver looks at the dash."""

OTHERS = (
    "range_left",
    "efficiency",
    "energy_used",
    "odometer",
    "outside_temperature",
    "battery_temperature",
    "indicated_speed",
    "clock",
)
_NOTES = ("headwind", "tailwind", "crosswind", "traffic", "rain", "dry", "detour", "hill", "descent")
_APART_S = 25.0
_MOST_READINGS = 4


@dataclass(frozen=True, slots=True)
class PlannedCall:
    """Something that a driver says, and when its first word comes."""

    at_s: float
    spoken: SpokenCall


@dataclass(frozen=True, slots=True)
class Habits:
    """How one driver calls out.

    Attributes:
        every_percent: a call at each so many percent; None for a call each `every_s`.
        trip_share: how often the trip is read along with the charge.
        others: how often each of the other quantities is.
    """

    every_percent: int | None
    every_s: float
    trip_share: float
    others: dict[str, float]


def planned(
    seed: int, system: System, outing: Outing | None = None, twist: Twist = NO_TWIST
) -> tuple[PlannedCall, ...]:
    """Return the calls of the drive of a seed, in order: of the ordinary one, unless it is given."""
    outing = outing_of(seed) if outing is None else outing
    dash = Dash(outing, system, twist)
    rng = random.Random(f"rehearsed caller {seed}")
    habits = _habits(rng)
    times = _spaced(_moments(outing, dash, habits, rng))
    calls = [PlannedCall(at_s, _checkpoint(dash, at_s, habits, rng)) for at_s in times]
    return tuple(sorted(calls + _notes(times, rng), key=lambda each: each.at_s))


def sayable(shown: Shown) -> bool:
    """Whether people say such a value: nobody says "minus half a degree"."""
    return not (-1 < shown.value < 0)


def _habits(rng: random.Random) -> Habits:
    kind = rng.choices(("each percent", "each second percent", "minutes"), (4, 3, 3))[0]
    favourite = rng.sample(OTHERS, 2)
    return Habits(
        every_percent={"each percent": 1, "each second percent": 2}.get(kind),
        every_s=rng.uniform(180.0, 240.0),
        trip_share=rng.uniform(0.8, 1.0),
        others={
            name: rng.uniform(0.15, 0.4) if name in favourite else rng.uniform(0.02, 0.12) for name in OTHERS
        },
    )


def _moments(outing: Outing, dash: Dash, habits: Habits, rng: random.Random) -> list[float]:
    """Return when the driver calls: standing at the start, then as is their habit."""
    first = 10.0 + rng.uniform(0.0, 15.0)
    moments = [first]
    if habits.every_percent is None:
        at_s = first + habits.every_s
        while at_s < outing.ends_s - 20.0:
            moments.append(at_s)
            at_s += habits.every_s * rng.uniform(0.85, 1.15)
        return moments
    shown = dash.charge_percent(first)
    at_s = first
    while at_s < outing.ends_s - 20.0:
        if dash.charge_percent(at_s) <= shown - habits.every_percent:
            shown = dash.charge_percent(at_s)
            # Noticed some seconds later, or at the next look.
            moments.append(at_s + rng.uniform(2.0, 20.0))
        at_s += 5.0
    return moments


def _spaced(times: list[float]) -> list[float]:
    kept: list[float] = []
    for at_s in times:
        if not kept or at_s - kept[-1] >= _APART_S:
            kept.append(at_s)
    return kept


def _checkpoint(dash: Dash, at_s: float, habits: Habits, rng: random.Random) -> SpokenCall:
    wanted = ["charge"]
    if rng.random() < habits.trip_share:
        wanted.append("trip")
    others = [name for name in OTHERS if rng.random() < habits.others[name]]
    rng.shuffle(others)
    wanted += others
    spoken: list[SpokenReading] = []
    for name in wanted:
        shown = dash.shows(name, at_s - LOOK_S)
        if shown is not None and sayable(shown) and len(spoken) < _MOST_READINGS:
            spoken.append(reading(name, shown.value, shown.unit, rng))
    if rng.random() < 0.1:
        rng.shuffle(spoken)
    return call(spoken)


def _notes(times: list[float], rng: random.Random) -> list[PlannedCall]:
    """Return a few notes, each midway between two calls."""
    between = rng.sample(range(1, len(times) - 1), 2 + rng.randrange(2))
    return [
        PlannedCall((times[index] + times[index + 1]) / 2.0, command(f"note {rng.choice(_NOTES)}"))
        for index in between
        if times[index + 1] - times[index] > 2 * _APART_S
    ]
