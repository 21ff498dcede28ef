"""What a plausibility rule is given and what it answers. Pure."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from functools import cache, lru_cache
from typing import NamedTuple

from grammar import Quantity
from logger.core.units import convert_exactly
from logger.model import Place

_NANO = 1_000_000_000
_FASTEST_UNSEEN_KM_PER_S = 130.0 / 3600.0
"""What a car may drive while no receiver is looking: 130 km/h."""

UNSEEN_GAP_S = 30.0
"""Between two fixes further apart than this, nobody knows how the car drove."""

AT_THE_SAME_SPOT_KM = 0.5
"""A car that has gone less than that still stands where it stood."""

_BASE = {
    "mi": "km",
    "mph": "km/h",
    "degF": "degC",
    "mi/kWh": "km/kWh",
    "Wh/mi": "km/kWh",
    "Wh/km": "km/kWh",
    "kWh/100km": "km/kWh",
}


class Outcome(StrEnum):
    """How a value does by one rule, from good to bad."""

    PASS = "pass"  # noqa: S105 (no password)
    DOUBT = "doubt"
    FAIL = "fail"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What one rule says of one value; `message` names the numbers, and is empty for a pass."""

    rule: str
    outcome: Outcome
    message: str = ""


class Moment(NamedTuple):
    """What is known of a time of the drive, whatever was read off then.

    Attributes:
        at_ns, utc_ns: on the drive clock, and in UTC.
        place: where the car was, None where that is not known.
        driven_km: GPS distance since the track began; None where there is no place.
        gps_kmh: the speed by GPS, NaN where no receiver was looking.
        unseen_s: seconds since the drive began in which none was looking.
    """

    at_ns: int
    utc_ns: int
    place: Place | None
    driven_km: float | None
    gps_kmh: float
    unseen_s: float

    @classmethod
    def of(cls, at_ns: int, utc_ns: int, place: Place | None, unseen_s: float = 0.0) -> Moment:
        """Return what a place on the track tells."""
        gps_kmh = math.nan
        if place is not None and place.speed_mps is not None and place.gap_s <= UNSEEN_GAP_S:
            gps_kmh = place.speed_mps * 3.6
        return cls(at_ns, utc_ns, place, driven_km(place), gps_kmh, unseen_s)


def driven_km(place: Place | None) -> float | None:
    """Return how far the car had gone since the track began, None where that is not known."""
    if place is None or not math.isfinite(place.distance_m):
        return None
    return place.distance_m / 1000.0


class Observation(NamedTuple):  # a reading has several, and a tuple is made much faster than a frozen record
    """A value a reading may have, when and where it was read off.

    Attributes:
        base: the value in km, km/h, degC, km/kWh, or its own unit; infinite for 0 kWh/100km.
        half_step: half a step of its last digit, in the unit of `base`: what the display may have rounded away.
        places: how many decimals it was said with.
        driven_km: GPS distance since the track began; None where there is no place.
        unseen_s: seconds since the drive began in which no receiver was looking.
    """

    quantity: str
    value: Decimal
    unit: str
    at_ns: int
    utc_ns: int
    place: Place | None
    base: float
    half_step: float
    places: int
    driven_km: float | None
    unseen_s: float = 0.0

    @property
    def text(self) -> str:
        """The value as people write it."""
        return told(self.quantity, self.value, self.unit)

    @property
    def base_unit(self) -> str:
        """The unit of `base`."""
        return _BASE.get(self.unit, self.unit)


@dataclass(frozen=True, slots=True)
class Mark:
    """When something was noted, and the GPS distance then (None where there is no place)."""

    at_ns: int
    driven_km: float | None


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of the whole drive.

    Attributes:
        quantities: by name, for their limits.
        marks: by kind of note, in order of time; only notes that were clearly heard.
        clock_ahead_min: how far the dash's clock is ahead of UTC, learned from all its readings, minutes in
            [0, 1440); None when they don't agree on one.
    """

    quantities: Mapping[str, Quantity]
    marks: Mapping[str, tuple[Mark, ...]] = field(default_factory=dict)
    clock_ahead_min: float | None = None

    def noted_between(self, kind: str, earlier: Observation, later: Observation) -> Mark | None:
        """Return the newest such note made between two readings."""
        marks = self.marks.get(kind, ())
        index = bisect_right(marks, later.at_ns, key=lambda mark: mark.at_ns) - 1
        return marks[index] if index >= 0 and marks[index].at_ns >= earlier.at_ns else None

    def charged_between(self, earlier: Observation, later: Observation) -> bool:
        """Whether the car may have been charged between two readings, by what was noted.

        That is: "note charging" or "note unplugged" lies between them, or the first was read off where charging
        had been noted (the car had not gone on since).
        """
        if self.noted_between("charging", earlier, later) or self.noted_between("unplugged", earlier, later):
            return True
        marks = self.marks.get("charging", ())
        index = bisect_left(marks, earlier.at_ns, key=lambda mark: mark.at_ns) - 1
        if index < 0 or earlier.driven_km is None:
            return False
        begun_km = marks[index].driven_km
        return begun_km is not None and earlier.driven_km - begun_km < AT_THE_SAME_SPOT_KM


class Context(NamedTuple):
    """What a value is judged beside: the trusted readings of its quantity before and after it, and the drive."""

    facts: Facts
    before: Observation | None = None
    after: Observation | None = None

    def steps(self, observed: Observation) -> Iterator[tuple[Observation, Observation]]:
        """Yield (earlier, later) for the step from the reading before and for the step to the one after."""
        if self.before is not None:
            yield self.before, observed
        if self.after is not None:
            yield observed, self.after


Check = Callable[[Observation, Context], Verdict]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule: its check, and the quantities it is about (empty: all).

    `beside` says that it judges by the neighbours in the context, one step at a time; the others look at the value
    alone.
    """

    check: Check
    quantities: frozenset[str] = frozenset()
    beside: bool = False

    @property
    def name(self) -> str:
        """Its name in reasons and docs."""
        return self.check.__name__

    @property
    def sentence(self) -> str:
        """What it demands: the check's docstring."""
        return " ".join((self.check.__doc__ or "").split())

    def about(self, quantity: str) -> bool:
        """Whether it says anything about a quantity."""
        return not self.quantities or quantity in self.quantities


@cache
def passed(rule: str) -> Verdict:
    """Return a rule's word that all is well."""
    return Verdict(rule, Outcome.PASS)


def graded(rule: str, excess: float, allowed: float, message: str) -> Verdict:
    """Doubt an excess up to twice what is allowed, and fail it beyond."""
    return Verdict(rule, Outcome.DOUBT if excess <= 2.0 * allowed else Outcome.FAIL, message)


_SEVERITY = {Outcome.PASS: 0, Outcome.DOUBT: 1, Outcome.FAIL: 2}


def worse(one: Verdict, other: Verdict) -> Verdict:
    """Return the worse of two verdicts, the first where they are alike."""
    if other.outcome is Outcome.PASS:
        return one
    return other if _SEVERITY[other.outcome] > _SEVERITY[one.outcome] else one


def observe(quantity: str, value: Decimal, unit: str, moment: Moment) -> Observation:
    """Return a value with what the rules compare."""
    base, half_step, places = _in_base(str(value), unit)
    return Observation(
        quantity,
        value,
        unit,
        moment.at_ns,
        moment.utc_ns,
        moment.place,
        base,
        half_step,
        places,
        moment.driven_km,
        moment.unseen_s,
    )


@lru_cache(maxsize=1 << 15)  # a dash has few values, and a drive asks for each of them often
def _in_base(said: str, unit: str) -> tuple[float, float, int]:
    """Return a value, half a step of its last digit, and its decimals; by its text, since Decimal("50") equals Decimal("50.0")."""
    value, to = Decimal(said), _BASE.get(unit, unit)
    exponent = int(value.as_tuple().exponent)
    try:
        base = float(convert_exactly(value, unit, to))
    except ValueError:  # 0 Wh/km: nothing used at all
        return math.inf, 0.0, max(0, -exponent)
    half = Decimal(5).scaleb(exponent - 1)
    return base, abs(float(convert_exactly(value + half, unit, to)) - base), max(0, -exponent)


class Step(NamedTuple):
    """What the car did between two readings: `km` by GPS, give or take `unseen_km` driven while nobody looked.

    `km` is None without a place at both ends; `most_km` is then what may have been driven in the time.
    """

    km: float | None
    unseen_km: float
    most_km: float
    hours: float


def step_between(earlier: Observation, later: Observation) -> Step:
    """Return what the car did between two readings."""
    seconds = max(0.0, (later.at_ns - earlier.at_ns) / _NANO)
    if earlier.driven_km is None or later.driven_km is None:
        return Step(None, 0.0, seconds * _FASTEST_UNSEEN_KM_PER_S, seconds / 3600.0)
    km = max(0.0, later.driven_km - earlier.driven_km)
    unseen_km = max(0.0, later.unseen_s - earlier.unseen_s) * _FASTEST_UNSEEN_KM_PER_S
    return Step(km, unseen_km, km + unseen_km, seconds / 3600.0)


def told(quantity: str, value: Decimal, unit: str) -> str:
    """Return a value as people write it: 97.2 mi, 63 %, 07:40."""
    if quantity == "clock":
        hours, minutes = divmod(int(value), 60)
        return f"{hours:02d}:{minutes:02d}"
    return f"{value} {unit}".replace("deg", "\N{DEGREE SIGN}")
