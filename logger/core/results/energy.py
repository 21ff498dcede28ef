"""Efficiency as the dash shows it and as it follows from usable energy, and energy per distance in every usual unit. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from logger.core.results.basis import Basis
from logger.core.results.cells import measure, number, text
from logger.core.results.charge_model import start_of
from logger.core.results.figures import Absent, Answer, Figure, Line, Section, shown
from logger.core.results.range_driven import RESET_KM, began_with_km
from logger.core.results.spread import Z95, Interval
from logger.core.table import Table

KEY = "energy"
UNITS_TOLD = ("mi/kWh", "km/kWh", "kWh/100km", "kWh/100mi", "Wh/mi", "Wh/km", "MPGe")
"""Every usual unit of energy per distance; MPGe at 33.705 kWh to the US gallon."""

COLUMNS = (
    text("unit", "What energy per distance is told in."),
    measure("value", "", "Energy per distance, or distance on energy, in `unit`."),
    measure("low", "", "Lower end of its 95 % interval.", "it has none"),
    measure("high", "", "Upper end of it.", "it has none"),
)

POINT_SD = 0.29
"""Standard deviation of the rounding of one reading, in points."""


@dataclass(frozen=True, slots=True)
class Spent:
    """Charge used over a distance, with the interval of points a kilometre."""

    points: float
    km: float
    points_a_km: Interval
    what: str


def section(basis: Basis) -> Section:
    """Return the figures of energy."""
    last, mean, read = _shown(basis)
    by_energy = by_usable(basis)
    other_way = not_of_the_stretch(basis)
    lines = (
        Line("shown_last", "Efficiency as last shown", last),
        Line("shown_mean", "Efficiency as shown, mean of those read", mean),
        Line("by_usable", "Efficiency by usable energy", by_energy),
        Line(
            "disagreement",
            "Shown consumption less that by usable energy",
            _disagreement(last, by_energy, other_way),
        ),
        Line("energy_used", "Energy used, as last shown", _energy_used(basis)),
        Line("by_energy_used", "Efficiency by the energy shown", _by_energy_used(basis)),
        Line(
            "usable_by_shown",
            "Usable energy by efficiency as shown",
            _usable_by_shown(basis, last, other_way),
        ),
    )
    best = by_energy if isinstance(by_energy, Figure) else last
    tables = (_per_distance(best),) if isinstance(best, Figure) and best.value > 0.0 else ()
    return Section(KEY, "Energy", lines, tables, _remarks(last, by_energy, read))


def _per_distance(consumption: Figure) -> Table:
    rows = []
    for unit in UNITS_TOLD:
        told = shown(consumption, None, unit=unit)
        places = 3 if told.value < 10.0 else 2
        rows.append((unit, number(told.value, places), number(told.low, places), number(told.high, places)))
    return Table("per_distance", COLUMNS, tuple(rows))


def _shown(basis: Basis) -> tuple[Answer, Answer, int]:
    readings = [
        each for each in basis.seen.of("efficiency") if basis.stretch.holds(each.at_s) and each.value > 0.0
    ]
    if not readings:
        none = Absent("The efficiency was not read off; call it out near the end of the drive.")
        return none, none, 0
    last = readings[-1]
    where = "" if last.gps_km is None else f" at {last.gps_km - basis.origin_km:.1f} km"
    figure = Figure(
        last.value,
        "Wh/km",
        last.value - last.step / 2.0,
        last.value + last.step / 2.0,
        "the last digit shown, nothing of how the dash counts",
        remark=f"Read off as {last.said} {last.unit}{where}; it is the average since the trip meter was last reset.",
    )
    values = np.array([each.value for each in readings])
    if len(values) == 1:
        return figure, Absent("The efficiency was read off once only."), 1
    return (
        figure,
        Figure(float(np.mean(values)), "Wh/km", remark=f"Of {len(values)} readings, each an average itself."),
        len(values),
    )


def spent(basis: Basis) -> Spent | Absent:
    """Return the charge used over the longest distance there is: to 0 % where it was reached, else to the last reading."""
    if basis.model is None:
        return Absent(basis.why_not_projected)
    first = basis.marks[0]
    more, start_sd = start_of(first.reading.value)
    if isinstance(basis.zero, Interval):
        # 0 % first appears half a point above what the display means by it.
        points = first.reading.value + more - 0.5
        km = basis.zero.plus(-first.km)
        relative = km.under(points)
        return Spent(points, km.value, relative.wider(start_sd / km.value), "from the first charge to 0 %")
    last = basis.marks[-1]
    points = first.reading.value + more - last.reading.value
    km_driven = last.km - first.km
    # The display may bend its charge from the energy by some percent in the middle, and not at all at the ends.
    left = last.reading.value / 100.0
    bent = BEND_SD * left * (1.0 - left) * 100.0
    sd = math.hypot(POINT_SD, start_sd, bent)
    value = points / km_driven
    interval = Interval(value, value, value).wider(sd / km_driven)
    return Spent(points, km_driven, interval, f"from {first.reading.value:g} % to {last.reading.value:g} %")


BEND_SD = 0.02
"""Standard deviation of how far a display bends its charge from the energy left, as a share."""


def by_usable(basis: Basis) -> Answer:
    """Return the consumption by the sheet's usable energy, in Wh/km."""
    usable = basis.told.get("usable")
    if usable is None:
        return Absent("The sheet does not tell the usable energy; write usable_kwh under [test].")
    used = spent(basis)
    if isinstance(used, Absent):
        return used
    wh_a_point = usable * 10.0
    figure = used.points_a_km.times(wh_a_point)
    if not figure.value > 0.0 or figure.low <= 0.0:
        return Absent("The charge used over the distance is too uncertain for a consumption.")
    return figure.figure(
        "Wh/km",
        "the display's rounding and where 0 % was first shown, not what the sheet's usable energy may be wrong by"
        f"{basis.but_for_ruler}",
        remark=f"{used.points:.1f} points of {usable:g} kWh over {used.km:.1f} km, {used.what}.",
    )


def not_of_the_stretch(basis: Basis) -> str:
    """Return why the efficiency last shown is an average over another way than the stretch that counts; "" where it is of that."""
    readings = [each for each in basis.seen.of("efficiency") if basis.stretch.holds(each.at_s)]
    if not readings or basis.end_km is None:
        return ""
    if readings[-1].gps_km is not None and basis.ruler == "gps":
        km = readings[-1].gps_km - basis.origin_km
        if km < LATE * basis.end_km:
            return (
                f"The efficiency was last read off after {km:.1f} km of {basis.end_km:.1f} km, so it is not that of the whole way; "
                "call it out at the end."
            )
    if len(basis.trip.pieces) > 1:
        return "The trip meter was reset on the way, and the dash's average with it."
    begun = began_with_km(basis)
    if begun is not None and begun > RESET_KM:
        return f"The trip meter stood at {begun:.1f} km where the stretch begins, so the dash's average is of more than it."
    return ""


LATE = 0.85
"""An average read off before this share of the way is not told as that of the whole."""


def _disagreement(shown_last: Answer, by_energy: Answer, other_way: str) -> Answer:
    if isinstance(by_energy, Absent):
        return by_energy
    if isinstance(shown_last, Absent):
        return shown_last
    if other_way:
        return Absent(other_way)
    percent = (shown_last.value / by_energy.value - 1.0) * 100.0
    if None in (by_energy.low, by_energy.high, shown_last.low, shown_last.high):
        return Figure(percent, "%", remark=in_words(percent))
    assert by_energy.low is not None
    assert by_energy.high is not None
    assert shown_last.low is not None
    assert shown_last.high is not None
    ends = Interval(percent, percent, percent)
    for one, other in (
        (by_energy.high - by_energy.low, by_energy.value),
        (shown_last.high - shown_last.low, shown_last.value),
    ):
        ends = ends.wider(one / other / 2.0 / Z95 * 100.0)
    return ends.figure("%", "both intervals", remark=in_words(percent))


def in_words(percent: float) -> str:
    """Return the disagreement as a sentence; below zero the dash shows less consumption than the distance bears out."""
    size = abs(percent)
    if size < 1.0:
        return "The dash and the distance agree within 1 %."
    if percent < 0.0:
        return (
            f"The dash shows {size:.1f} % less consumption than the distance on the usable energy bears out: energy that the trip "
            "computer does not count, or capacity that is not there."
        )
    return (
        f"The dash shows {size:.1f} % more consumption than the distance on the usable energy bears out: the battery gave "
        "more than the sheet says, or the trip computer counts too much."
    )


def _energy_used(basis: Basis) -> Answer:
    readings = [each for each in basis.seen.of("energy_used") if basis.stretch.holds(each.at_s)]
    if not readings:
        return Absent("The energy used was not read off.")
    last = readings[-1]
    return Figure(last.value, "kWh", last.value - last.step, last.value + last.step, "the last digit shown")


def _by_energy_used(basis: Basis) -> Answer:
    """Return the energy shown over the distance between its first and its last reading."""
    readings = [
        each
        for each in basis.seen.of("energy_used")
        if basis.stretch.holds(each.at_s) and each.gps_km is not None
    ]
    if len(readings) < 2:
        return Absent("The energy used was read off fewer than twice with a GPS position.")
    first, last = readings[0], readings[-1]
    assert first.gps_km is not None
    assert last.gps_km is not None
    km, kwh = last.gps_km - first.gps_km, last.value - first.value
    if km < 5.0 or kwh <= 0.0:
        return Absent("The energy used was read off too close together, or did not rise.")
    value = kwh * 1000.0 / km
    half = last.step * 1000.0 / km
    return Figure(value, "Wh/km", value - half, value + half, "the last digits shown")


def _usable_by_shown(basis: Basis, last: Answer, other_way: str) -> Answer:
    """Return the energy that the dash's own efficiency makes of the range to 0 %."""
    reach = basis.reach()
    if isinstance(last, Absent):
        return last
    if isinstance(reach, Absent):
        return reach
    if other_way:
        return Absent(other_way)
    if not basis.stretch.begins_full:
        return Absent("The drive did not begin at 100 %.")
    return Figure(
        last.value * reach.value / 1000.0,
        "kWh",
        estimate=True,
        remark="What would be usable if the dash counted all energy and the distance as GPS does.",
    )


def _remarks(last: Answer, by_energy: Answer, read: int) -> tuple[str, ...]:
    remarks = []
    if isinstance(by_energy, Absent) and isinstance(last, Figure):
        remarks.append(
            "Energy per distance is as the dash last showed it, since it cannot be had from usable energy."
        )
    if read > 0:
        remarks.append("What the dash shows is its own count; it is compared here, not trusted.")
    return tuple(remarks)
