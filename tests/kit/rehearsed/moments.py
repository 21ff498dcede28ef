"""When the dash of a drive shows a value that is in the bank, and which takes of it there are."""

from __future__ import annotations

import bisect
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

import numpy as np
from speechkit.calls import System

from rehearsed.bank import Bank, BankItem
from rehearsed.caller import LOOK_S
from rehearsed.car import Outing
from rehearsed.dash import METRES, OTHER, Dash
from rehearsed.twists import Twist

DISTANCE_UNIT: dict[System, str] = {"miles": "mi", "metric": "km"}
_GRID_S = 10.0
_ODOMETER_BEGINS_M = (3_000.0, 12_000.0)


@dataclass(frozen=True, slots=True)
class Moment:
    """When a driver looks, and what is then shown."""

    look_s: float
    quantity: str
    value: Decimal
    unit: str


class Moments:
    """The moments of one drive at one ratio."""

    def __init__(
        self,
        bank: Bank,
        system: System,
        ratio_db: float,
        *,
        outing: Outing,
        twist: Twist,
        rng: random.Random,
    ) -> None:
        self._bank, self._system, self._ratio_db, self._rng = bank, system, ratio_db, rng
        self.outing, self.twist = outing, twist
        runs = _runs(self._values("odometer", DISTANCE_UNIT[system]))
        if not runs:
            raise LookupError(f"the bank has nothing at {ratio_db:g} dB")
        self._run = rng.choice(runs)
        self._other_runs = [value for run in runs if run != self._run for value in run]
        start_m = float(self._run[0]) * METRES[DISTANCE_UNIT[system]] - rng.uniform(*_ODOMETER_BEGINS_M)
        self._dash = Dash(outing, system, twist, start_m)

    def said_s(self, moment: Moment) -> float:
        """Return when the first word comes after a look."""
        return moment.look_s + LOOK_S

    def shown(self, quantity: str, at_s: float) -> BankItem | None:
        """Return a take of what the dash shows as the driver looks before speaking; None if the bank has none."""
        shown = self._dash.shows(quantity, at_s - LOOK_S)
        if shown is None:
            return None
        takes = self._values(quantity, shown.unit).get(shown.value)
        return self._rng.choice(takes) if takes else None

    def take(self, moment: Moment) -> BankItem:
        """Return any take of what is shown at a moment."""
        return self._rng.choice(self._values(moment.quantity, moment.unit)[moment.value])

    def takes(self, item: BankItem) -> tuple[BankItem, ...]:
        """Return all takes of the same call."""
        return self._values(item.quantity, item.unit, item.kind).get(Decimal(item.value or 0), ())

    def note(self, words: str) -> BankItem:
        """Return a take of a note.

        Raises:
            LookupError: there is none.
        """
        found = self._values("", "", words)
        if not found:
            raise LookupError(f"the bank has no {words!r}")
        return self._rng.choice(found[Decimal(0)])

    @cached_property
    def trips(self) -> list[Moment]:
        """When the trip shows a value of the bank, in order."""
        return self._distances("trip", DISTANCE_UNIT[self._system], Decimal("0.05"), 0.0) + (
            self._distances("trip", DISTANCE_UNIT[OTHER[self._system]], Decimal("0.05"), 0.0)
            if self.twist.switch_s is not None
            else []
        )

    def odometers(self) -> list[Moment]:
        """Return when the odometer shows a value of its run."""
        unit = DISTANCE_UNIT[self._system]
        return self._found("odometer", unit, self._run, Decimal("0.5"), self._dash.odometer_start_m)

    def other_odometer(self) -> BankItem:
        """Return a take of what another car's odometer shows."""
        values = self._values("odometer", DISTANCE_UNIT[self._system])
        return self._rng.choice(values[self._rng.choice(self._other_runs)])

    def charge_at(self, look_s: float) -> Moment:
        """Return the moment at which a driver looks at the charge then."""
        return Moment(look_s, "charge", Decimal(self._dash.charge_percent(look_s)), "%")

    def next_trip(self, from_s: float, until_s: float) -> Moment | None:
        """Return the first trip moment within a stretch of time that begins when the driver may speak."""
        at = bisect.bisect_left(self.trips, from_s, key=self.said_s)
        return self.trips[at] if at < len(self.trips) and self.said_s(self.trips[at]) <= until_s else None

    def trip_after(self, at_s: float) -> Moment:
        """Return the first trip moment at or after a time; raises LookupError."""
        at = bisect.bisect_left(self.trips, at_s, key=lambda moment: moment.look_s)
        if at == len(self.trips):
            raise LookupError("no trip of the bank is shown any more")
        return self.trips[at]

    def trip_before(self, at_s: float) -> Moment:
        """Return the last trip moment before a time; raises LookupError."""
        at = bisect.bisect_left(self.trips, at_s, key=lambda moment: moment.look_s)
        if at == 0:
            raise LookupError("no trip of the bank is shown before")
        return self.trips[at - 1]

    def trips_near(self, times: Sequence[float]) -> list[Moment]:
        """Return the trip moments that follow the times, each once."""
        found: dict[float, Moment] = {}
        for at_s in times:
            at = bisect.bisect_left(self.trips, at_s, key=lambda moment: moment.look_s)
            if at < len(self.trips):
                found[self.trips[at].look_s] = self.trips[at]
        return list(found.values())

    def wrong(self, quantity: str, apart_s: float) -> list[Moment]:
        """Return moments, some time apart, that show a value of which a take has a wrong first answer."""
        unit = "%" if quantity == "charge" else DISTANCE_UNIT[self._system]
        wrong = {
            value
            for value, takes in self._values(quantity, unit).items()
            if any(take.wrong_but_listed for take in takes)
        }
        kept: list[Moment] = []
        for moment in self._charges(wrong) if quantity == "charge" else self.trips:
            apart = not kept or moment.look_s - kept[-1].look_s >= apart_s
            if apart and moment.value in wrong and moment.unit == unit:
                kept.append(moment)
        return kept

    def wrong_take(self, moment: Moment) -> BankItem:
        """Return a take of what is shown whose first answer is wrong."""
        takes = self._values(moment.quantity, moment.unit)[moment.value]
        return self._rng.choice([take for take in takes if take.wrong_but_listed])

    def correctable(self, quantity: str) -> tuple[Moment, BankItem]:
        """Return a moment of the middle of the drive whose value the bank has a correction to, and that; raises LookupError."""
        unit = "%" if quantity == "charge" else DISTANCE_UNIT[self._system]
        values = self._values(quantity, unit, "correction")
        found = (
            self._charges(values)
            if quantity == "charge"
            else self._found("trip", unit, values, Decimal("0.05"), 0.0)
        )
        found = [each for each in found if 0.1 < each.look_s / self.outing.ends_s < 0.9]
        if not found:
            raise LookupError(f"the bank has no correction of {quantity} for this drive")
        moment = self._rng.choice(found)
        return moment, self._rng.choice(values[moment.value])

    def misread(self, right: Moment) -> BankItem:
        """Return a take of another value, as one misreads it: a digit off, or a near one."""
        values = self._values(right.quantity, right.unit)
        if right.quantity == "charge":
            off = [value for step in (-10, 10, -1, 1, -2, 3, 20) if (value := right.value + step) in values]
            return self._rng.choice(values[self._rng.choice(off)])
        near = sorted(
            (value for value in values if value != right.value), key=lambda value: abs(value - right.value)
        )
        return self._rng.choice(values[self._rng.choice(near[:8])])

    def _values(self, quantity: str, unit: str, kind: str = "call") -> dict[Decimal, tuple[BankItem, ...]]:
        return self._bank.values(self._system, self._ratio_db, kind, quantity, unit)

    def _charges(self, values: Iterable[Decimal]) -> list[Moment]:
        """Return one moment for each charge that is shown at all, in order of time."""
        grid_s = np.arange(_GRID_S, self.outing.ends_s, _GRID_S)
        percents = self._dash.charge_percents(grid_s)
        found = []
        for value in values:
            at = np.flatnonzero(percents == int(value))
            if len(at):
                found.append(
                    Moment(self.twist.clock_s(float(grid_s[self._rng.choice(at)])), "charge", value, "%")
                )
        return sorted(found, key=lambda moment: moment.look_s)

    def _distances(self, quantity: str, unit: str, inside: Decimal, start_m: float) -> list[Moment]:
        return self._found(quantity, unit, self._values(quantity, unit), inside, start_m)

    def _found(
        self, quantity: str, unit: str, values: Iterable[Decimal], inside: Decimal, start_m: float
    ) -> list[Moment]:
        """Return when a counter shows the values, in order of time: some way inside each step, before and after a reset."""
        wanted = list(values)
        counted_m = np.array([float(value + inside) for value in wanted]) * METRES[unit] - start_m
        found = []
        for from_m in {0.0, self.twist.reset_m}:
            driven_m = counted_m / self._dash.kind.trip_scale + from_m
            looks = np.interp(driven_m, self.outing.distance_m, self.outing.seconds, left=-1.0, right=-1.0)
            for value, driving_s in zip(wanted, looks.tolist(), strict=True):
                look_s = self.twist.clock_s(driving_s)
                if driving_s > 0.0 and self._dash.shows(quantity, look_s) == (value, unit):
                    found.append(Moment(look_s, quantity, value, unit))
        return sorted(found, key=lambda moment: moment.look_s)


def _runs(values: Iterable[Decimal]) -> list[list[Decimal]]:
    """Return the odometer's values by car: within a run they are close together."""
    runs: list[list[Decimal]] = []
    for value in sorted(values):
        if runs and value - runs[-1][-1] <= 50:
            runs[-1].append(value)
        else:
            runs.append([value])
    return runs
