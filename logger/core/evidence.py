"""What a drive as a whole says about its readings: notes, stretches without GPS, the clock's zone. Pure."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import accumulate
from typing import NamedTuple

from grammar import Command, CommandKind, Quantity, Reading
from logger.core.rows import PlaceAt
from logger.core.rules import Facts, Mark, Moment, Observation, observe
from logger.core.rules.alone import (
    DAY_MIN,
    ZONE_TOLERANCE_MIN,
    around_the_clock,
    clock_ahead_min,
    zone_off_min,
)
from logger.core.rules.records import UNSEEN_GAP_S, driven_km
from logger.core.said import Remark, SpokenReading
from logger.core.slots import Option
from logger.model import Drive, Entry

_NANO = 1_000_000_000
_SAMPLE_S = 30.0
_MOST_SAMPLES = 5_000

_PACE_S = 600.0
_SAME_CLOCK_MIN = 2
_LIKELY = 0.05
"""Options of a clock reading that weigh less have no voice in learning its zone."""

_NOT_A_TIE = 0.9


_USUAL_KM_PER_S = 90.0 / 3600.0
"""What a car is taken to drive where nothing else is known."""


@dataclass(frozen=True, slots=True)
class Way:
    """How far the car had gone at any time, between and beyond the times at which that is known.

    Attributes:
        at_s: those times, rising; may be empty.
        at_km: the way until then.
        km_per_s: what it drives beyond them.
    """

    at_s: Sequence[float]
    at_km: Sequence[float]
    km_per_s: float

    @classmethod
    def of(cls, at_s: Sequence[float], at_km: Sequence[float]) -> Way:
        """Return the way through known points; its pace is that of the whole, if it has gone anywhere."""
        pace = _USUAL_KM_PER_S
        if len(at_s) > 1 and at_s[-1] > at_s[0] and at_km[-1] > at_km[0]:
            pace = (at_km[-1] - at_km[0]) / (at_s[-1] - at_s[0])
        return cls(at_s, at_km, pace)

    def km(self, second: float) -> float:
        """Return the way at a time: by a straight line between known points, by the pace beyond them."""
        if not self.at_s:
            return second * self.km_per_s
        after = bisect_right(self.at_s, second)
        if after == 0:
            return self.at_km[0] + (second - self.at_s[0]) * self.km_per_s
        if after == len(self.at_s):
            return self.at_km[-1] + (second - self.at_s[-1]) * self.km_per_s
        share = (second - self.at_s[after - 1]) / (self.at_s[after] - self.at_s[after - 1])
        return self.at_km[after - 1] + share * (self.at_km[after] - self.at_km[after - 1])

    def pace_kmh(self, second: float) -> float:
        """Return the mean speed over ten minutes around a time, NaN where they are not all known."""
        first, last = second - _PACE_S / 2.0, second + _PACE_S / 2.0
        if not self.at_s or first < self.at_s[0] or last > self.at_s[-1]:
            return math.nan
        return (self.km(last) - self.km(first)) / _PACE_S * 3600.0


class Surroundings:
    """The track as the rules see it: where the car was, and how long nobody had been looking."""

    def __init__(self, drive: Drive, place_at: PlaceAt, times_ns: Iterable[int]) -> None:
        self._began_utc_ns = drive.began_utc_ns
        self._place_at = place_at
        self._moments: dict[int, Moment] = {}
        times = sorted(times_ns)
        self._first_ns = times[0] if times else 0
        length_s = (times[-1] - times[0]) / _NANO if times else 0.0
        self._step_s = max(_SAMPLE_S, length_s / _MOST_SAMPLES)
        self._unseen = [0.0]
        seen_s: list[float] = []
        seen_km: list[float] = []
        for number in range(math.ceil(length_s / self._step_s)):
            middle_s = (number + 0.5) * self._step_s
            place = place_at(drive.began_utc_ns + self._first_ns + round(middle_s * _NANO))
            unseen = place is None or not place.gap_s <= UNSEEN_GAP_S
            self._unseen.append(self._unseen[-1] + (self._step_s if unseen else 0.0))
            km = driven_km(place)
            if km is not None:
                seen_s.append(self._first_ns / _NANO + middle_s)
                seen_km.append(km)
        self._way = Way.of(seen_s, seen_km)

    def observe(self, quantity: str, value: Decimal, unit: str, at_ns: int) -> Observation:
        """Return a value with where it was read off."""
        return observe(quantity, value, unit, self.at(at_ns))

    def observe_all(self, readings: Iterable[Reading], at_ns: int) -> tuple[Observation, ...]:
        """Return the values that one reading may have."""
        moment = self.at(at_ns)
        return tuple([observe(each.quantity, each.value, each.unit, moment) for each in readings])

    def at(self, at_ns: int) -> Moment:
        """Return what the track says of a time of the drive clock."""
        known = self._moments.get(at_ns)
        if known is None:
            utc_ns = self._began_utc_ns + at_ns
            known = Moment.of(at_ns, utc_ns, self._place_at(utc_ns), self._unseen_s(at_ns))
            self._moments[at_ns] = known
        return known

    def way_km(self, at_ns: int) -> float:
        """Return how far the car had gone: by the track, or by what it usually drives where the track says nothing."""
        km = self.at(at_ns).driven_km
        return self._way.km(at_ns / _NANO) if km is None else km

    def pace_kmh(self, at_ns: int) -> float:
        """Return the mean speed over ten minutes around a time, by track or dash; NaN beyond what is known of the way."""
        return self._way.pace_kmh(at_ns / _NANO)

    def _unseen_s(self, at_ns: int) -> float:
        steps = (at_ns - self._first_ns) / _NANO / self._step_s
        whole = min(max(0, math.floor(steps)), len(self._unseen) - 1)
        if whole + 1 >= len(self._unseen):
            return self._unseen[-1]
        return self._unseen[whole] + (steps - whole) * (self._unseen[whole + 1] - self._unseen[whole])

    def go_by(self, times_ns: Sequence[int], way_km: Sequence[float]) -> None:
        """Take the way from readings of the dash, at rising times: for a drive without a track."""
        self._way = Way.of([at_ns / _NANO for at_ns in times_ns], way_km)

    @property
    def has_track(self) -> bool:
        """Whether any receiver was looking at any time."""
        return self._unseen[-1] < (len(self._unseen) - 1) * self._step_s

    def mark(self, at_ns: int) -> Mark:
        """Return a mark made at a time of the drive clock."""
        return Mark(at_ns, self.at(at_ns).driven_km)


def gather_facts(
    quantities: Sequence[Quantity],
    remarks: Iterable[Remark],
    readings: Iterable[SpokenReading],
    around: Surroundings,
    noted: Iterable[Entry] = (),
) -> Facts:
    """Return what the whole drive says; only remarks that were clearly heard count, and notes that a person decided (`noted`)."""
    marks: dict[str, list[Mark]] = {}
    for remark in remarks:
        frame = remark.slot.frame
        if isinstance(frame, Command) and frame.kind is CommandKind.NOTE and not remark.doubt:
            marks.setdefault(frame.text, []).append(around.mark(remark.slot.at_ns))
    for note in noted:
        marks.setdefault(note.note, []).append(around.mark(note.at_ns))
    return Facts(
        {quantity.name: quantity for quantity in quantities},
        {kind: tuple(sorted(made, key=lambda mark: mark.at_ns)) for kind, made in marks.items()},
        _learned_clock(readings, around),
    )


def same_quantity(spoken: SpokenReading) -> list[tuple[Option, Reading]]:
    """Return a slot's options that are of the quantity its first answer names, likeliest first."""
    frame = spoken.slot.frame
    if not isinstance(frame, Reading):
        return []
    quantity, correction = frame.quantity, frame.correction
    return [
        (option, part)
        for option in spoken.slot.options
        if isinstance(part := option.part, Reading)
        and part.quantity == quantity
        and part.correction == correction
    ]


class _Vote(NamedTuple):
    """How far ahead one option of a reading says that the clock is, and how likely it is by its sound."""

    ahead_min: float
    weight: float


def _learned_clock(readings: Iterable[SpokenReading], around: Surroundings) -> float | None:
    """Return how far the dash's clock is ahead of UTC, as at least two readings agree and no others do as well."""
    votes: dict[int, dict[str, _Vote]] = {}  # by minute, then by reading
    for spoken in readings:
        frame = spoken.slot.frame
        if not isinstance(frame, Reading) or frame.quantity != "clock":
            continue
        for option, reading in same_quantity(spoken):
            if option.weight < _LIKELY:
                continue
            seen = around.observe("clock", reading.value, reading.unit, spoken.at_ns)
            off = zone_off_min(seen)
            if off is None or off <= ZONE_TOLERANCE_MIN:
                ahead = clock_ahead_min(seen)
                minute = round(ahead) % DAY_MIN
                votes.setdefault(minute, {})[spoken.slot.id] = _Vote(ahead, option.weight)
    support = {minute: _support(votes, minute) for minute in sorted(votes)}
    if not support:
        return None
    best = max(support, key=lambda minute: (_weight(support[minute]), _weight(votes[minute])))
    weight = _weight(support[best])
    # Where half of the day was not said and the longitude cannot tell, both halves have equal voices.
    rivals = [
        _weight(voices)
        for minute, voices in support.items()
        if abs(around_the_clock(minute - best)) > 2 * _SAME_CLOCK_MIN
    ]
    if len(support[best]) < 2 or max(rivals, default=0.0) >= _NOT_A_TIE * weight:
        return None
    # The middle one of them, so that one misheard by a minute or two takes none of the others with it.
    voices = sorted((around_the_clock(vote.ahead_min - best), vote.weight) for vote in support[best].values())
    sums = accumulate(each for _, each in voices)
    off = next(off for (off, _), until in zip(voices, sums, strict=True) if 2.0 * until >= weight)
    return (best + off) % DAY_MIN


def _support(votes: Mapping[int, Mapping[str, _Vote]], minute: int) -> dict[str, _Vote]:
    """Return which readings say about this many minutes, each by its likeliest option that does."""
    voices: dict[str, _Vote] = {}
    for near in range(minute - _SAME_CLOCK_MIN, minute + _SAME_CLOCK_MIN + 1):
        for reading, vote in votes.get(near % DAY_MIN, {}).items():
            if reading not in voices or vote.weight > voices[reading].weight:
                voices[reading] = vote
    return voices


def _weight(voices: Mapping[str, _Vote]) -> float:
    return sum([vote.weight for vote in voices.values()])
