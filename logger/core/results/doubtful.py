"""What entries that nobody has settled may change: the main figures with each taken as each of its alternatives. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from logger.core.results.basis import Basis
from logger.core.results.figures import Absent
from logger.core.results.observed import Reading, reading_of
from logger.core.results.rulers import gps_km_at
from logger.core.results.spread import Interval
from logger.core.results.stretch import stretch_of
from logger.core.table import plain
from logger.model import Entry

MOST_ALTERNATIVES = 4
"""Suggestions beyond these are not tried."""
_NANO = 1e9
_SEEN_KM = 0.05


def sentences(basis: Basis) -> tuple[str, ...]:
    """Return one sentence for each doubt: what it is, and by how much it may change a main figure."""
    return tuple(_sentence(basis, entry) for entry in basis.seen.doubts)


def _sentence(basis: Basis, entry: Entry) -> str:
    named = _named(entry)
    if entry.quantity == "charge":
        return f"{named}: {_on_range(basis, entry)}"
    if entry.quantity in {"trip", "odometer"}:
        name = {"trip": "trip meter", "odometer": "odometer"}[entry.quantity]
        return f"{named}: it counts for the {name} only, not for the range by GPS."
    if entry.quantity == "efficiency":
        return f"{named}: {_on_efficiency(basis, entry)}"
    if entry.quantity == "range_left":
        return f"{named}: it counts only for how honest the dash's estimate was."
    if entry.quantity == "note":
        return f"{named}: it says nothing of the figures."
    return f"{named}: no main figure rests on it."


def _named(entry: Entry) -> str:
    if entry.quantity == "unheard":
        return f"Entry {entry.id}, a call without a meaning"
    name = entry.quantity.replace("_", " ")
    if entry.value is None:
        return f"Entry {entry.id}, {name}"
    told = [f"{plain(entry.value)} {entry.unit}".strip()]
    told += [f"{plain(each.value)} {each.unit}".strip() for each in entry.alternatives[:MOST_ALTERNATIVES]]
    return f"Entry {entry.id}, {name} {' or '.join(dict.fromkeys(told))}"


def values_of(basis: Basis, entry: Entry) -> Iterator[Reading]:
    """Yield the readings that an entry may be."""
    gps_km = gps_km_at(basis.seen, entry.at_ns / _NANO)
    own = reading_of(entry, gps_km)
    if own is not None:
        yield own
    for each in entry.alternatives[:MOST_ALTERNATIVES]:
        other = reading_of(replace(entry, value=each.value, unit=each.unit), gps_km)
        if other is not None:
            yield other


def _on_range(basis: Basis, entry: Entry) -> str:
    what = "the range at 0 %" if isinstance(basis.zero, Interval) else "the projected range"
    reach = basis.reach()
    changes: list[float] = []
    moves = False
    for reading in values_of(basis, entry):
        change = _change_km(basis, reading, reach)
        if change is None:
            moves = True
        else:
            changes.append(change)
    if isinstance(reach, Absent):
        return (
            "without it there is no range; settling it may give one."
            if moves or changes
            else "it changes no figure."
        )
    if moves:
        return "some of what it may be would mean that the car was charged there, so that another part of the drive counts."
    if not changes:
        return f"it says nothing of {what}."
    widest = max(changes)
    if widest < _SEEN_KM:
        return f"{what} stays as it is."
    return f"{what} changes by at most {widest:.1f} km."


def _change_km(basis: Basis, reading: Reading, reach: Interval | Absent) -> float | None:
    """Return by how much the range changes with a further charge; None where it makes another stretch the one that counts."""
    charges = tuple(sorted((*basis.seen.of("charge"), reading), key=lambda each: each.at_s))
    stretch = stretch_of(basis.seen, charges)
    if (
        stretch.from_s != basis.stretch.from_s
        or stretch.to_s != basis.stretch.to_s
        or isinstance(reach, Absent)
    ):
        return None
    if isinstance(basis.zero, Interval) or reading.value <= 0.0:
        other = _zero_with(basis, reading)
        return 0.0 if other is None else abs(other - reach.value)
    if basis.model is None or reading.gps_km is None or basis.ruler != "gps":
        return 0.0
    first = basis.marks[0]
    km = basis.model.with_reading(reading.gps_km - basis.origin_km - first.km, reading.value)
    return 0.0 if km is None else abs(km + first.km - reach.value)


def _zero_with(basis: Basis, reading: Reading) -> float | None:
    """Return where 0 % came with a further charge; None where it makes no difference."""
    if reading.gps_km is None or basis.ruler != "gps":
        return None
    km = reading.gps_km - basis.origin_km
    zero = basis.zero_mark
    if reading.value <= 0.0:
        above = [each.km for each in basis.marks if each.km <= km and each.reading.value > 0.0]
        earlier = zero is None or km < basis.marks[zero].km
        return ((above[-1] if above else 0.0) + km) / 2.0 if earlier else None
    if zero is None or zero == 0 or not basis.marks[zero - 1].km < km < basis.marks[zero].km:
        return None
    return (km + basis.marks[zero].km) / 2.0


def _on_efficiency(basis: Basis, entry: Entry) -> str:
    readings = [each for each in basis.seen.of("efficiency") if basis.stretch.holds(each.at_s)]
    at_s = entry.at_ns / _NANO
    if readings and at_s < readings[-1].at_s:
        return "a later one was read, so that the efficiency as last shown stays as it is."
    told = [each.value for each in values_of(basis, entry)]
    if not told:
        return "it changes no figure."
    if not readings:
        return "there is no settled one; settling it gives the efficiency as shown."
    widest = max(abs(each - readings[-1].value) for each in told)
    return f"the efficiency as last shown changes by at most {widest:.0f} Wh/km."
