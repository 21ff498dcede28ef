"""What makes a drive not comparable with the others, each with its numbers and its bound. Pure.

A drive is held against the median of the others: with two drives against each other. Where the others' values differ from each
other, so does what is said of each of them. What only one drive needs (a closed loop, settled doubts) is asked of it alone.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from logger.core.comparing.summary import Conditions, Summary
from logger.core.results.closure import CLOSED_CLIMB_M, CLOSED_SHARE
from logger.core.results.figures import Figure, shown
from logger.core.units import Distances


@dataclass(frozen=True, slots=True)
class Flag:
    """Why a drive does not compare.

    Attributes:
        kind: what differs, in one word.
        value: here, in `unit`; None where it is no number or not known.
        others: the median of the others, None where it is asked of this drive alone.
        bound: how far it may go.
        unit: a base unit.
        why: the sentence without the numbers, or all of it where there are none.
    """

    kind: str
    value: float | None
    others: float | None
    bound: float | None
    unit: str
    why: str


@dataclass(frozen=True, slots=True)
class Bound:
    """How far a condition may differ from the median of the others.

    Attributes:
        most: in `unit`; a difference of more is flagged.
        relative: whether `most` is a share of the others' median instead.
        source: where the bound comes from.
    """

    of: Callable[[Conditions], float | None]
    unit: str
    most: float
    name: str
    source: str
    relative: bool = False


BOUNDS: Mapping[str, Bound] = MappingProxyType(
    {
        "temperature": Bound(
            lambda each: each.temperature_c, "degC", 5.0, "the air outside", "ours: 5 degC change the density of air by 1.8 %"
        ),
        "wind": Bound(
            lambda each: each.wind_kmh, "km/h", 10.0, "the wind", "ours: two thirds of the 16 km/h that SAE J1263 allows on average"
        ),
        "speed": Bound(
            lambda each: each.speed_kmh, "km/h", 2.0, "the GPS speed",
            "the tolerance of a nominated steady speed in circular 18/03-3-1 to ADR 18/03, which is about testing speedometers",
        ),
        "start": Bound(lambda each: each.start_pct, "%", 2.0, "the charge at the start", "ours: twice the display's last digit"),
        "usable": Bound(
            lambda each: each.usable_kwh, "kWh", 0.01, "the usable energy",
            "ours: two cars of one type; different types differ on purpose, and then it is for information", relative=True,
        ),
    }
)  # fmt: skip
"""By kind."""

MOST_WIND_KMH = 16.0
"""More on average, and a coastdown by SAE J1263-2010 is not valid (read in a secondary copy)."""
COLDEST_C, WARMEST_C = 5.0, 35.0
"""The ambient temperatures that SAE J1263-2010 allows (read in a secondary copy)."""
MOST_APART = CLOSED_SHARE
"""Ours: a loop whose ends are farther apart than this share of the way was not closed; wind and climb do not cancel."""
MOST_CLIMB_M = CLOSED_CLIMB_M
"""Ours: lifting a car by 30 m takes what it uses in half a kilometre."""


NAMES: Mapping[str, str] = MappingProxyType(
    {
        **{kind: f"{bound.name} differs, or is not known" for kind, bound in BOUNDS.items()},
        "doubts": "entries are in doubt",
        "charging": "charged on the way",
        "loop": "did not end where they began",
        "climb": "ended higher or lower than they began",
        "windy": "too much wind for a fair drive",
        "weather": f"outside the {COLDEST_C:g} to {WARMEST_C:g} degC of SAE J1263",
        "tyres": "other tyres or wheels than most, or none told",
        "meter": "distances are by the car's own meter, those of others are not",
    }
)
"""What each kind of flag says of several drives."""


def flags_of(summaries: Sequence[Summary]) -> tuple[tuple[Flag, ...], ...]:
    """Return what makes each drive not comparable with the others, in the order of the drives. Takes n log n."""
    conditions = [each.conditions for each in summaries]
    flags: list[list[Flag]] = [_alone(each) for each in conditions]
    for kind, bound in BOUNDS.items():
        values = [bound.of(each) for each in conditions]
        known = sorted(each for each in values if each is not None)
        for place, value in enumerate(values):
            flag = _beside_others(kind, bound, value, known)
            if flag is not None:
                flags[place].append(flag)
    for place, flag in _tyres([each.tyres for each in conditions]):
        flags[place].append(flag)
    for place, flag in _meters([each.ruler for each in conditions]):
        flags[place].append(flag)
    return tuple(tuple(each) for each in flags)


def flag_text(flag: Flag, distances: Distances) -> str:
    """Return a flag as one sentence with its numbers, in miles or kilometres."""
    if flag.value is None:
        return flag.why
    value = _told(flag.value, flag.unit, distances)
    bound = "" if flag.bound is None else _told(flag.bound, flag.unit, distances, difference=True)
    if flag.others is None:
        return f"{flag.why}: {value}, more than {bound}" if bound else f"{flag.why}: {value}"
    others = _told(flag.others, flag.unit, distances)
    apart = _told(abs(flag.value - flag.others), flag.unit, distances, difference=True)
    return f"{flag.why}: {value} here, {others} with the others, {apart} apart and not within {bound}"


def _beside_others(kind: str, bound: Bound, value: float | None, known: Sequence[float]) -> Flag | None:
    if value is None:
        if not known:
            return None
        return Flag(
            kind, None, None, None, bound.unit, f"{bound.name} is not known here, and is of other drives"
        )
    others = _median_without(known, value)
    if others is None:
        return None
    most = bound.most * abs(others) if bound.relative else bound.most
    # The last digits of binary fractions are no difference.
    if abs(value - others) <= most * (1.0 + 1e-9):
        return None
    return Flag(kind, value, others, most, bound.unit, f"{bound.name} differs")


def _median_without(known: Sequence[float], value: float) -> float | None:
    """Return the median of sorted values without one of them; None where no other is left."""
    count = len(known) - 1
    if count <= 0:
        return None
    gone = bisect_left(known, value)

    def at(place: int) -> float:
        return known[place if place < gone else place + 1]

    return at(count // 2) if count % 2 else (at(count // 2 - 1) + at(count // 2)) / 2.0


def _alone(here: Conditions) -> list[Flag]:
    """Return what is asked of a drive by itself."""
    flags = []
    if here.doubts:
        what = "1 entry is" if here.doubts == 1 else f"{here.doubts} entries are"
        flags.append(
            Flag("doubts", None, None, None, "", f"{what} in doubt; settle them with `odovox review`")
        )
    if here.charged:
        flags.append(Flag("charging", None, None, None, "", f"charged on the way: {here.charged}"))
    if here.apart_km is not None and here.driven_km and here.apart_km > MOST_APART * here.driven_km:
        bound = MOST_APART * here.driven_km
        flags.append(Flag("loop", here.apart_km, None, bound, "km", "it did not end where it began"))
    if here.climb_m is not None and abs(here.climb_m) > MOST_CLIMB_M:
        flags.append(
            Flag(
                "climb",
                abs(here.climb_m),
                None,
                MOST_CLIMB_M,
                "m",
                f"it ended {'higher' if here.climb_m > 0 else 'lower'} than it began",
            )
        )
    if here.wind_kmh is not None and here.wind_kmh > MOST_WIND_KMH:
        flags.append(
            Flag("windy", here.wind_kmh, None, MOST_WIND_KMH, "km/h", "too much wind for a fair drive")
        )
    if here.temperature_c is not None and not COLDEST_C <= here.temperature_c <= WARMEST_C:
        why = f"outside the {COLDEST_C:g} to {WARMEST_C:g} degC of SAE J1263"
        flags.append(Flag("weather", here.temperature_c, None, None, "degC", why))
    return flags


def _tyres(told: Sequence[str | None]) -> list[tuple[int, Flag]]:
    """Return the drives whose tyres are not those of most drives; where as many have others, all are named."""
    counts = Counter(each for each in told if each is not None)
    most = [each for each, count in counts.items() if count == max(counts.values())]
    flags = []
    for place, here in enumerate(told):
        usual = next((each for each in most if each != here), None)
        if usual is None or most == [here]:
            continue
        if here is None:
            why = f"no tyres are told here, and others have {usual}"
        else:
            why = f"other tyres or wheels: {here} here, {usual} with the others"
        flags.append((place, Flag("tyres", None, None, None, "", why)))
    return flags


_METERS: Mapping[str, str] = MappingProxyType({"trip": "the trip meter", "odometer": "the odometer"})


def _meters(rulers: Sequence[str]) -> list[tuple[int, Flag]]:
    """Return the drives whose distances are by a meter of the car, which may count some percent wrong, where others go by something else."""
    why = "distances are by {} here, which may count some percent too much or too little, and not with the others"
    return [
        (place, Flag("meter", None, None, None, "", why.format(_METERS[here])))
        for place, here in enumerate(rulers)
        if here in _METERS and any(each not in {here, ""} for each in rulers)
    ]


def _told(value: float, unit: str, distances: Distances, *, difference: bool = False) -> str:
    """Return a number and its unit as shown to people; temperatures stay in degC, where a difference is one too."""
    figure = shown(Figure(value, unit), distances)
    places = 2 if unit == "kWh" and difference else 1
    number = f"{figure.value:.{places}f}"
    return f"{number} {'points' if unit == '%' and difference else figure.unit}"
