"""What the results of a drive start from: its readings that count, its notes, its doubts, its track and its sheet. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import isfinite
from types import MappingProxyType

from logger.core.columns import NOTE, UNHEARD
from logger.core.rows import MAX_GAP_S
from logger.core.track import Track
from logger.core.units import Distances, convert_exactly, convertible
from logger.core.way import Way
from logger.model import Drive, Entry, Status

_NANO = 1e9
_COUNTS = frozenset({Status.ACCEPTED, Status.CORRECTED})

BASE_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "charge": "%",
        "trip": "km",
        "odometer": "km",
        "range_left": "km",
        "efficiency": "Wh/km",
        "energy_used": "kWh",
        "outside_temperature": "degC",
        "battery_temperature": "degC",
        "indicated_speed": "km/h",
        "clock": "min",
    }
)
"""The unit that each quantity is computed in."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading that counts.

    Attributes:
        entry_id: which entry of the log it is.
        at_s: when it was spoken, seconds since the drive began.
        value: in the base unit of its quantity.
        step: what one in the last digit said is worth there, about `value`: the display's resolution, as far as it was said.
        gps_km: how far the car had driven by GPS, None where nobody was measuring.
        said: the value as said.
        unit: the unit it was said in.
    """

    entry_id: str
    at_s: float
    value: float
    step: float
    gps_km: float | None
    said: Decimal
    unit: str


@dataclass(frozen=True, slots=True)
class Note:
    """A note that counts, such as `headwind`."""

    at_s: float
    text: str
    gps_km: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Observed:
    """What the results of a drive start from.

    Attributes:
        drive: when it began.
        readings: those accepted, or decided by a person, by quantity, each in the order of the drive; a quantity without any is
            not in it.
        notes: in the order of the drive.
        doubts: the entries that nobody has settled yet; their values count for nothing.
        track: None where nobody was measuring.
        test: the conditions that the sheet tells.
        way: the way back that the sheet tells.
        distances: what the driver's dash counts in.
    """

    drive: Drive
    readings: Mapping[str, tuple[Reading, ...]]
    notes: tuple[Note, ...]
    doubts: tuple[Entry, ...]
    track: Track | None
    test: Mapping[str, str | int | float | bool]
    way: Way | None
    distances: Distances

    def of(self, quantity: str) -> tuple[Reading, ...]:
        """Return the readings of a quantity, in the order of the drive; none where it was never read off."""
        return self.readings.get(quantity, ())

    def seconds(self, utc_ns: int) -> float:
        """Return an instant as seconds since the drive began."""
        return (utc_ns - self.drive.began_utc_ns) / _NANO


def observed(
    drive: Drive,
    entries: Iterable[Entry],
    track: Track | None,
    *,
    test: Mapping[str, str | int | float | bool],
    way: Way | None,
    distances: Distances,
) -> Observed:
    """Return what results start from; rejected entries and what has no value play no part."""
    readings: dict[str, list[Reading]] = {}
    notes: list[Note] = []
    in_order = sorted(entries, key=lambda each: each.at_ns)
    doubts = tuple(each for each in in_order if each.status is Status.FLAGGED)
    counted = [each for each in in_order if each.status in _COUNTS]
    places = _gps_kms(track, [drive.began_utc_ns + each.at_ns for each in counted])
    for entry, gps_km in zip(counted, places, strict=True):
        if entry.quantity == NOTE:
            notes.append(Note(entry.at_ns / _NANO, entry.note, gps_km))
        elif entry.quantity != UNHEARD:
            reading = reading_of(entry, gps_km)
            if reading is not None:
                readings.setdefault(entry.quantity, []).append(reading)
    kept = {quantity: tuple(found) for quantity, found in readings.items()}
    return Observed(drive, MappingProxyType(kept), tuple(notes), doubts, track, test, way, distances)


def reading_of(entry: Entry, gps_km: float | None) -> Reading | None:
    """Return an entry's value in the base unit of its quantity; None where it has none there."""
    base = BASE_UNITS.get(entry.quantity)
    if (
        entry.value is None
        or not entry.value.is_finite()
        or base is None
        or not convertible(entry.unit, base)
    ):
        return None
    half = Decimal(1).scaleb(int(entry.value.as_tuple().exponent)) / 2
    try:
        value, *ends = (
            _told_in(base, each, entry.unit) for each in (entry.value, entry.value - half, entry.value + half)
        )
    except ValueError:  # the reciprocal of 0
        return None
    return Reading(
        entry.id, entry.at_ns / _NANO, value, abs(ends[1] - ends[0]), gps_km, entry.value, entry.unit
    )


def _told_in(base: str, value: Decimal, unit: str) -> float:
    # A fraction in between takes ten times as long, and comes to the same.
    return float(value) if unit == base else float(convert_exactly(value, unit, base))


def _gps_kms(track: Track | None, utc_ns: Sequence[int]) -> list[float | None]:
    """Return how far the car had driven at each instant; None where nobody was measuring."""
    if track is None:
        return [None] * len(utc_ns)
    metres = track.distances_m(utc_ns, MAX_GAP_S).tolist()
    return [each / 1000.0 if isfinite(each) else None for each in metres]
