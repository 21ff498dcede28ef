"""What climb, wind, air and an uneven speed cost, by the road-load equation, with what is not known of all of it. Pure.

Each cost is the difference between the drive as it was and the same drive without that one thing. Everything uncertain moves by
one standard deviation up and down, one thing at a time (the car's numbers, the modes of the wind, the air, the profile); with f+
and f- the results and f the middle, l = (f+ - f-) / 2 and q = (f+ + f-) / 2 - f, the variance is the sum of l^2 + 2 q^2: that of
a parabola of a normal variable.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from logger.core.geodesy import Floats
from logger.core.results.air import REFERENCE_C, REFERENCE_KG_M3, Air, air_of
from logger.core.results.air_density import ZERO_C_IN_K
from logger.core.results.blowing import Wind, wind_of
from logger.core.results.car_load import CarLoad, Going, drawn_wh_per_km, load_of
from logger.core.results.course import Course, course_of
from logger.core.results.ground import Ground, ground_of
from logger.core.results.observed import Observed
from logger.core.results.told import told_by
from logger.core.units import KMH_PER_MPS

PARTS = ("wind", "climb", "air", "temperature", "speed")
"""What has a cost. `temperature` is a part of `air`."""
UNKNOWN_AIR_SD = 0.05
"""Of the density, where nothing is known of the air: from -10 to 30 degC at sea level it is within two of these."""
SPEED_SD = 0.05
"""Of what an uneven speed costs, as a share of it: speeds are known over five seconds only. Chosen on TUNING drives."""
_AT_ONCE = 16
"""So many worlds are worked out side by side: of more, what is worked out on the way would fit into no cache."""


@dataclass(frozen=True, slots=True)
class Cost:
    """A number with its standard deviation."""

    value: float
    sd: float


@dataclass(frozen=True, slots=True)
class Costs:
    """What a drive drew by the road-load equation, and what of it each thing cost.

    Attributes:
        drawn: Wh/km in all.
        parts: Wh/km by the names of `PARTS`; a sentence where one cannot be told.
        shares: the same in % of what was drawn in all: so much shorter was the range.
        corrections: by how many % the range would have been longer at reference conditions, for each of `PARTS` but
            `temperature`; where a part cannot be told it is not there.
        together: the same for all of them at once.
        ratio: what is drawn at reference conditions over what was drawn.
        speed_kmh: the speed of the reference.
        load: what is known of the car.
    """

    drawn: Cost
    parts: Mapping[str, Cost | str]
    shares: Mapping[str, Cost | str]
    corrections: Mapping[str, Cost]
    together: Cost
    ratio: Cost
    speed_kmh: float
    load: CarLoad


@dataclass(frozen=True, slots=True, eq=False)
class _World:
    """All that the results depend on."""

    numbers: Mapping[str, float]
    headwind_mps: Floats
    rises_m: Floats
    density: float
    celsius: float


@dataclass(frozen=True, slots=True, eq=False)
class _Setting:
    """What the costs of a drive are worked out from.

    Attributes:
        load: what is known of the car.
        course: the way.
        reference_mps: the speed of the reference.
        missing: why a part cannot be told, by its name.
        worlds: the likeliest first, then two for each thing that is uncertain.
    """

    load: CarLoad
    course: Course
    reference_mps: float
    missing: Mapping[str, str]
    worlds: Sequence[_World]

    def costs(
        self, results: Callable[[Sequence[_World], _Setting], Floats], *, speed_at: Sequence[int] = ()
    ) -> list[Cost]:
        """Return results, a row for each world, as numbers with their standard deviations; `speed_at` says which are the speed's."""
        middle, *moved = (
            row
            for at in range(0, len(self.worlds), _AT_ONCE)
            for row in results(self.worlds[at : at + _AT_ONCE], self)
        )
        above, below = np.array(moved[::2]), np.array(moved[1::2])
        variance = np.sum(((above - below) / 2.0) ** 2 + 2.0 * ((above + below) / 2.0 - middle) ** 2, axis=0)
        for number in speed_at:
            variance[number] += (SPEED_SD * middle[number]) ** 2
        return [Cost(float(value), float(sd)) for value, sd in zip(middle, np.sqrt(variance), strict=True)]


@lru_cache(maxsize=4)
def costs_of(seen: Observed) -> Costs | str:
    """Return what a drive cost; a sentence where it cannot be told. Remembered for the last few drives."""
    setting = _setting(seen)
    if isinstance(setting, str):
        return setting
    missing, count = setting.missing, len(PARTS)
    place = 1 + PARTS.index("speed")
    found = setting.costs(_results, speed_at=(place, place + count))
    return Costs(
        drawn=found[0],
        parts={name: missing.get(name, cost) for name, cost in zip(PARTS, found[1:], strict=False)},
        shares={name: missing.get(name, cost) for name, cost in zip(PARTS, found[1 + count :], strict=False)},
        corrections={
            name: cost
            for name, cost in zip(PARTS, found[1 + 2 * count :], strict=False)
            if name not in missing and name != "temperature"
        },
        together=found[-2],
        ratio=found[-1],
        speed_kmh=setting.reference_mps * KMH_PER_MPS,
        load=setting.load,
    )


def ratio_of(seen: Observed) -> Cost | str:
    """Return the ratio of `costs_of` alone, in a quarter of the time."""
    setting = _setting(seen)
    return setting if isinstance(setting, str) else setting.costs(_ratios)[0]


def _setting(seen: Observed) -> _Setting | str:
    if seen.track is None:
        return "There is no track; record or give one for this."
    told = told_by(seen.test)
    load, course = load_of(told), course_of(seen.track)
    if isinstance(load, str):
        return load
    if isinstance(course, str):
        return course
    wind, ground, air = wind_of(told), ground_of(seen.track), air_of(seen)
    target = told.get("target_gps_speed")
    mean_mps = float(course.edges_m[-1] - course.edges_m[0]) / float(course.seconds.sum())
    missing = {
        name: found
        for name, found in (("wind", wind), ("climb", ground), ("air", air), ("temperature", air))
        if isinstance(found, str)
    }
    middle = _middle(load, course, wind, ground, air)
    return _Setting(
        load=load,
        course=course,
        reference_mps=mean_mps if target is None else target / KMH_PER_MPS,
        missing=missing,
        worlds=[middle, *itertools.chain.from_iterable(_pairs(middle, load, course, (wind, ground, air)))],
    )


def _middle(load: CarLoad, course: Course, wind: Wind | str, ground: Ground | str, air: Air | str) -> _World:
    calm = np.zeros(len(course.seconds))
    return _World(
        numbers=load.numbers,
        headwind_mps=calm if isinstance(wind, str) else wind.headwind_mps(course),
        rises_m=calm if isinstance(ground, str) else _rises(course, ground, ground.height_m),
        density=REFERENCE_KG_M3 if isinstance(air, str) else air.kg_m3,
        celsius=REFERENCE_C if isinstance(air, str) else air.celsius,
    )


def _rises(course: Course, ground: Ground, height_m: Floats) -> Floats:
    return np.diff(np.interp(course.edges_m, ground.distance_m, height_m))


def _pairs(
    middle: _World, load: CarLoad, course: Course, found: tuple[Wind | str, Ground | str, Air | str]
) -> Iterator[tuple[_World, _World]]:
    """Yield the worlds one standard deviation above and below, one uncertain thing at a time."""
    wind, ground, air = found
    for name, sd in load.sds.items():
        if sd > 0.0:
            both = (
                replace(middle, numbers={**middle.numbers, name: max(0.0, middle.numbers[name] + way * sd)})
                for way in (1.0, -1.0)
            )
            yield (next(both), next(both))
    if not isinstance(wind, str):
        for mode in wind.modes_mps(course):
            yield (
                replace(middle, headwind_mps=middle.headwind_mps + mode),
                replace(middle, headwind_mps=middle.headwind_mps - mode),
            )
    if isinstance(air, str):
        off = UNKNOWN_AIR_SD * middle.density
        yield replace(middle, density=middle.density + off), replace(middle, density=middle.density - off)
    else:
        warmer = air.celsius_sd / (air.celsius + ZERO_C_IN_K)
        yield (
            replace(middle, celsius=air.celsius + air.celsius_sd, density=middle.density * (1.0 - warmer)),
            replace(middle, celsius=air.celsius - air.celsius_sd, density=middle.density * (1.0 + warmer)),
        )
        off = air.other_sd * middle.density
        yield replace(middle, density=middle.density + off), replace(middle, density=middle.density - off)
    if isinstance(ground, Ground):
        pairs = len(ground.others_m) // 2
        for number in range(pairs):
            # Each pair lies sqrt(5) standard deviations of one number off, and one of what is not known of the road.
            above, below = (
                _rises(course, ground, other) for other in ground.others_m[2 * number : 2 * number + 2]
            )
            scale = 1.0 / np.sqrt(pairs)
            yield (
                replace(middle, rises_m=middle.rises_m + scale * (above - middle.rises_m)),
                replace(middle, rises_m=middle.rises_m + scale * (below - middle.rises_m)),
            )


@dataclass(frozen=True, slots=True, eq=False)
class _Ways:
    """Some worlds side by side, as the road-load equation takes them.

    Attributes:
        numbers: the car's, each of shape (m, 1).
        going: as it was.
        reference: at reference conditions.
    """

    numbers: Mapping[str, Floats]
    going: Going
    reference: Going


def _ways(worlds: Sequence[_World], setting: _Setting) -> _Ways:
    course = setting.course
    density = np.array([[each.density] for each in worlds])
    going = Going(
        lengths_m=course.lengths_m,
        speed_mps=course.speed_mps,
        edge_mps=course.edge_mps,
        headwind_mps=np.array([each.headwind_mps for each in worlds]),
        rises_m=np.array([each.rises_m for each in worlds]),
        air_kg_m3=density,
        seconds=float(course.seconds.sum()) + course.standing_s,
    )
    level = np.zeros(len(course.lengths_m))
    reference = replace(
        _evenly(going, setting.reference_mps),
        headwind_mps=level,
        rises_m=level,
        air_kg_m3=density if "air" in setting.missing else REFERENCE_KG_M3,
    )
    numbers = {name: np.array([[each.numbers[name]] for each in worlds]) for name in worlds[0].numbers}
    return _Ways(numbers, going, reference)


def _evenly(going: Going, mps: float) -> Going:
    """Return the same way driven at one speed."""
    count = len(going.lengths_m)
    return replace(
        going,
        speed_mps=np.full(count, mps),
        edge_mps=np.full(count + 1, mps),
        seconds=float(going.lengths_m.sum()) / mps,
    )


def _ratios(worlds: Sequence[_World], setting: _Setting) -> Floats:
    """Return what is drawn at reference conditions over what was drawn, shape (m, 1)."""
    ways = _ways(worlds, setting)
    ideal, drawn = (drawn_wh_per_km(ways.numbers, each) for each in (ways.reference, ways.going))
    return np.asarray(ideal / drawn)[:, None]


def _results(worlds: Sequence[_World], setting: _Setting) -> Floats:
    """Return what was drawn, the cost of each part, its share, its correction, and those of all together; a row for each world."""
    ways, course = _ways(worlds, setting), setting.course
    numbers, going = ways.numbers, ways.going
    kelvin = np.array([[each.celsius + ZERO_C_IN_K] for each in worlds])
    level = np.zeros(len(going.lengths_m))
    without = {
        "wind": replace(going, headwind_mps=level),
        "climb": replace(going, rises_m=level),
        "air": replace(going, air_kg_m3=REFERENCE_KG_M3),
        "temperature": replace(going, air_kg_m3=going.air_kg_m3 * kelvin / (REFERENCE_C + ZERO_C_IN_K)),
        "speed": _evenly(going, float(going.lengths_m.sum()) / float(course.seconds.sum())),
    }
    drawn = drawn_wh_per_km(numbers, going)
    fewer = {name: drawn_wh_per_km(numbers, each) for name, each in without.items()}
    at_target = {**fewer, "speed": drawn_wh_per_km(numbers, _evenly(going, setting.reference_mps))}
    ideal = drawn_wh_per_km(numbers, ways.reference)
    return np.column_stack(
        [
            drawn,
            *(drawn - each for each in fewer.values()),
            *(100.0 * (drawn - each) / drawn for each in fewer.values()),
            *(100.0 * (drawn / each - 1.0) for each in at_target.values()),
            100.0 * (drawn / ideal - 1.0),
            ideal / drawn,
        ]
    )
