"""What entries that nobody has settled may change: the main figures with each taken as each of its alternatives. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from logger.core.results.basis import Basis, basis_of
from logger.core.results.figures import Absent, Figure
from logger.core.results.observed import Reading, reading_of
from logger.core.results.range_driven import end_by, zero_by
from logger.core.results.rulers import gps_km_at, meter_of
from logger.core.results.spread import Interval
from logger.core.results.stretch import stretch_of
from logger.core.table import plain
from logger.model import Entry

MOST_ALTERNATIVES = 4
"""Suggestions beyond these are not tried."""
MOST_RUNS = 4
"""So often the range is worked out again as a whole; it takes a tenth of a second."""
_NANO = 1e9
_SEEN_KM = 0.05


def sentences(basis: Basis) -> tuple[str, ...]:
    """Return one sentence for each doubt: what it is, and by how much it may change a main figure."""
    runs = _Runs(basis)
    return tuple(_sentence(basis, entry, runs) for entry in basis.seen.doubts)


class _Runs:
    """Works the range out again with a further charge, a few times; later ones get the bound that the readings around 0 % are."""

    def __init__(self, basis: Basis) -> None:
        self._basis, self._left = basis, MOST_RUNS

    def change_km(
        self, charges: tuple[Reading, ...], reach: Interval, low_km: float, high_km: float
    ) -> float:
        if self._left > 0:
            self._left -= 1
            other = basis_of(self._basis.seen, charges).reach()
            if isinstance(other, Interval):
                return abs(other.value - reach.value)
        return max(abs(low_km - reach.value), abs(high_km - reach.value))


def _sentence(basis: Basis, entry: Entry, runs: _Runs) -> str:
    named = _named(entry)
    if entry.quantity == "charge":
        return f"{named}: {_on_range(basis, entry, runs)}"
    if entry.quantity in {"trip", "odometer"}:
        return f"{named}: {_on_meter(basis, entry)}"
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


def _on_range(basis: Basis, entry: Entry, runs: _Runs) -> str:
    what = "the range at 0 %" if isinstance(basis.zero, Interval) else "the projected range"
    reach = basis.reach()
    if isinstance(reach, Absent):
        return "there is no range without it; settling it may give one."
    changes = [(reading, _change_km(basis, reading, reach, runs)) for reading in values_of(basis, entry)]
    known = [change for _, change in changes if change is not None]
    told = _at_most(what, max(known)) if known else f"it says nothing of {what}."
    charged = [f"{plain(reading.said)} %" for reading, change in changes if change is None]
    if not charged:
        return told
    contradicted = (
        f"as {' or '.join(charged)} it contradicts the charges around it, or the car was charged there"
    )
    return f"{contradicted}; otherwise {told}" if known else f"{contradicted}."


def _at_most(what: str, change_km: float) -> str:
    if change_km < _SEEN_KM:
        return f"{what} stays as it is."
    return f"{what} changes by at most {change_km:.1f} km."


def _change_km(basis: Basis, reading: Reading, reach: Interval, runs: _Runs) -> float | None:
    """Return by how much the range changes with a further charge; None where it makes another stretch the one that counts."""
    charges = tuple(sorted((*basis.seen.of("charge"), reading), key=lambda each: each.at_s))
    stretch = stretch_of(basis.seen, charges)
    if (stretch.from_s, stretch.to_s) != (basis.stretch.from_s, basis.stretch.to_s):
        return None
    km = basis.km_of(reading)
    if km is None or basis.model is None:
        return 0.0
    if isinstance(basis.zero, Interval) or reading.value <= 0.0:
        ends = _between(basis, reading, km)
        return 0.0 if ends is None else runs.change_km(charges, reach, *ends)
    first = basis.marks[0]
    told = basis.model.with_reading(km - first.km, reading.value)
    return 0.0 if told is None else abs(told + first.km - reach.value)


def _between(basis: Basis, reading: Reading, km: float) -> tuple[float, float] | None:
    """Return between which readings 0 % came with a further charge; None where it makes no difference."""
    zero = basis.zero_mark
    if reading.value <= 0.0:
        earlier = zero is None or km < basis.marks[zero].km
        above = [each.km for each in basis.marks if each.km <= km and each.reading.value > 0.0]
        return (above[-1], km) if earlier and above else None
    if zero is None or zero == 0 or not basis.marks[zero - 1].km < km < basis.marks[zero].km:
        return None
    return km, basis.marks[zero].km


def _on_meter(basis: Basis, entry: Entry) -> str:
    quantity = entry.quantity
    name = {"trip": "trip meter", "odometer": "odometer"}[quantity]
    by = zero_by if isinstance(basis.zero, Interval) else end_by
    what = (
        f"the range by {name}" if isinstance(basis.zero, Interval) else f"the distance to the end by {name}"
    )
    now = by(basis, quantity)
    changes = []
    for reading in values_of(basis, entry):
        read = tuple(sorted((*basis.seen.of(quantity), reading), key=lambda each: each.at_s))
        seen = replace(basis.seen, readings={**basis.seen.readings, quantity: read})
        meter = meter_of(seen, basis.stretch, quantity)
        trip = meter if quantity == "trip" else basis.trip
        odometer = meter if quantity == "odometer" else basis.odometer
        other = by(replace(basis, seen=seen, trip=trip, odometer=odometer), quantity)
        if isinstance(now, Figure) and isinstance(other, Figure):
            changes.append(abs(other.value - now.value))
    if not changes:
        return f"it counts for the {name} only."
    return _at_most(what, max(changes))


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
