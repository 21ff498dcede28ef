"""How far the car drove until 0 % was shown, and until the end, by GPS, trip meter and odometer. Pure."""

from __future__ import annotations

import math

from logger.core.results.basis import Basis
from logger.core.results.charge_model import FULL, start_of
from logger.core.results.figures import Absent, Answer, Figure, Line, Section
from logger.core.results.rulers import GPS_DRIFT, Meter, gps_km_at
from logger.core.results.spread import Z95, Interval

KEY = "range"
_NAMES = {"gps": "GPS", "trip": "trip meter", "odometer": "odometer"}
_STEP_SD = 0.41
"""Of a difference of two readings of a display, in steps: sqrt(2 / 12)."""
RESET_KM = 0.5
"""A trip meter that stands at so little was just reset."""


def section(basis: Basis) -> Section:
    """Return the range driven."""
    zero = {name: zero_by(basis, name) for name in _NAMES}
    end = {name: end_by(basis, name) for name in _NAMES}
    lines = [Line(f"zero_by_{name}", f"To 0 % shown, by {_NAMES[name]}", zero[name]) for name in _NAMES]
    lines += [Line(f"end_by_{name}", f"To the end, by {_NAMES[name]}", end[name]) for name in _NAMES]
    lines += [
        Line(
            f"past_zero_by_{name}",
            f"Past 0 %, by {_NAMES[name]}",
            past_zero(zero[name], end[name]),
        )
        for name in _NAMES
    ]
    lines += [
        Line("began_at", "Charge at the start", _began_at(basis)),
        Line("ended_at", "Charge at the end", _ended_at(basis)),
        Line("from_full", "From 100 % to 0 %", from_full(basis)),
    ]
    return Section(KEY, "Range driven", tuple(lines), (), (*basis.stretch.remarks, *_remarks(basis)))


def zero_by(basis: Basis, name: str) -> Answer:
    """Return the distance from where the stretch begins to where 0 % was first shown, by `gps`, `trip` or `odometer`."""
    if isinstance(basis.zero, Absent):
        return basis.zero
    if name == basis.ruler:
        return basis.zero.figure("km", _covers(basis), remark=_bracket(basis))
    if name == "gps":
        return Absent(_NO_GPS)
    meter = basis.trip if name == "trip" else basis.odometer
    return _by_meter(basis, meter, basis.zero)


def end_by(basis: Basis, name: str) -> Answer:
    """Return the distance from where the stretch begins to its end."""
    if name == basis.ruler:
        if basis.end_km is None:
            return Absent("Nobody was measuring at the end of the drive.")
        half = 2.0 * GPS_DRIFT * math.sqrt(max(0.0, basis.end_km)) if name == "gps" else 0.1
        end = basis.end_km
        return Figure(
            end, "km", end - half, end + half, "the noise of the measuring, not what is wrong with all of it"
        )
    if name == "gps":
        return Absent(_NO_GPS)
    meter = basis.trip if name == "trip" else basis.odometer
    if name == "odometer" and isinstance(meter.factor, Absent):
        told = _with_the_sheet(basis)
        if told is not None:
            return told
    if basis.end_km is None or basis.ruler != "gps":
        return _last_less_first(meter)
    return _by_meter(basis, meter, Interval(basis.end_km, basis.end_km, basis.end_km))


def past_zero(zero: Answer, end: Answer) -> Answer:
    """Return the distance from where 0 % was first shown to the end."""
    if isinstance(zero, Absent):
        return zero
    if isinstance(end, Absent):
        return end
    if zero.low is None or zero.high is None:
        return Figure(max(0.0, end.value - zero.value), "km")
    low, high = max(0.0, end.value - zero.high), max(0.0, end.value - zero.low)
    covers = "where between two readings 0 % was first shown"
    return Figure(max(0.0, end.value - zero.value), "km", low, high, covers)


def from_full(basis: Basis) -> Answer:
    """Return the range from 100 % to 0 %: as driven where the drive began full and reached 0 %, else projected."""
    reach = basis.reach()
    if isinstance(reach, Absent):
        return reach
    driven = isinstance(basis.zero, Interval)
    if basis.stretch.begins_full:
        if driven:
            return reach.figure("km", _covers(basis) + basis.but_for_ruler)
        return reach.figure(
            "km", projected_covers(basis), estimate=True, remark="Projected: 0 % was not reached."
        )
    first = basis.marks[0]
    value = first.reading.value
    if value < LEAST_CHARGE_TO_SCALE:
        return Absent(
            f"The stretch that counts began at {value:g} %, too little of a battery to say what a full one is good for."
        )
    # What is above the first charge is taken to be good for as much, give or take, as what is below.
    more, start_sd = start_of(value)
    share = (100.0 + FULL[0] - 0.5) / (value + more - 0.5)
    sd = math.hypot((share - 1.0) * MISSING_SD, math.hypot(start_sd, FULL[1]) / value)
    scaled = reach.times(share).wider(reach.value * sd)
    how = "driven" if driven else "projected"
    remark = f"Scaled from the {value:g} % at the start ({how} {reach.value:.1f} km)."
    return scaled.figure("km", projected_covers(basis), estimate=True, remark=remark)


LEAST_CHARGE_TO_SCALE = 50.0
"""From less at the start nothing is said of a full battery."""
MISSING_SD = 0.08
"""Standard deviation of what the missing first part is good for, as a share."""
_NO_GPS = "There is no GPS track with the charges; record one, or take in a track file with `odovox ingest`."


def projected_covers(basis: Basis) -> str:
    """Return what the interval of a projection covers."""
    return (
        "the display's rounding and what the rest may differ by, learned from this drive; one drive, this weather"
        f"{basis.but_for_ruler}"
    )


def _covers(basis: Basis) -> str:
    measured = "the receiver's noise" if basis.ruler == "gps" else "the meter's last digit"
    return f"where between two readings 0 % was first shown, and {measured}"


def _bracket(basis: Basis) -> str:
    index = basis.zero_mark
    if index is None or index == 0:
        return ""
    before, after = basis.marks[index - 1], basis.marks[index]
    return f"0 % was first shown between {before.km:.1f} km ({before.reading.value:g} %) and {after.km:.1f} km (0 %)."


def _by_meter(basis: Basis, meter: Meter, along: Interval) -> Answer:
    """Return a distance along the stretch as a meter counts it."""
    name = _NAMES[meter.quantity]
    if not meter.pieces:
        return Absent(f"The {name} was not read off.")
    factor = meter.factor
    if isinstance(factor, Absent) or basis.ruler != "gps":
        return Absent(
            factor.why if isinstance(factor, Absent) else f"The {name} cannot be tied to the charges."
        )
    factor_sd = (factor.high - factor.low) / (2.0 * Z95)
    whole = along.times(factor.value)
    if len(meter.pieces) > 1:
        remark = f"The {name} was reset on the way; this is the GPS distance times its factor."
        told = whole.wider(along.value * factor_sd)
        return told.figure("km", "as by GPS, and the factor", estimate=True, remark=remark)
    if meter.quantity == "odometer":
        # A line through all its readings knows better than two whole kilometres do.
        return whole.wider(along.value * factor_sd).figure("km", "as by GPS, and the factor")
    placed = [(each, each.gps_km) for each in meter.pieces[0] if each.gps_km is not None]
    target_km = basis.origin_km + along.value
    near, near_km = min(placed, key=lambda each: abs(each[1] - target_km))
    first, first_km = placed[0]
    begun = first.value - factor.value * (first_km - basis.origin_km)
    # A trip meter that was reset where the stretch begins showed exactly 0 there.
    begun = 0.0 if abs(begun) < RESET_KM else begun
    value = near.value + factor.value * (target_km - near_km) - begun
    told = whole.plus(value - whole.value).wider(_STEP_SD * near.step)
    covers = (
        "where between two readings 0 % was first shown, and the last digit"
        if along.high > along.low
        else "its last digit"
    )
    return told.figure("km", covers)


def began_with_km(basis: Basis) -> float | None:
    """Return what the trip meter showed where the stretch begins; None where it is not known."""
    if not basis.trip.pieces:
        return None
    first = basis.trip.pieces[0][0]
    if basis.ruler == "gps" and first.gps_km is not None and isinstance(basis.trip.factor, Interval):
        return first.value - basis.trip.factor.value * (first.gps_km - basis.origin_km)
    return first.value if basis.marks and abs(first.at_s - basis.marks[0].reading.at_s) < _AT_ONCE_S else None


_AT_ONCE_S = 15.0


def _with_the_sheet(basis: Basis) -> Answer | None:
    """Return the last odometer reading less what the sheet says it began with; None where the sheet does not, or cannot be right."""
    begun, pieces = basis.told.get("odometer"), basis.odometer.pieces
    if begun is None or not pieces or basis.stretch.from_s > 0.0:
        return None
    last = pieces[-1][-1]
    value = last.value - begun
    if value <= 0.0 or (basis.end_km is not None and abs(value - basis.end_km) > 2.0 + 0.05 * basis.end_km):
        return None
    remark = "From the sheet's odometer at the start to the last reading of it."
    return Figure(
        value, "km", max(0.0, value - last.step), value + last.step, "its last digit", remark=remark
    )


def _last_less_first(meter: Meter) -> Answer:
    name = _NAMES[meter.quantity]
    if len(meter.pieces) != 1:
        return Absent(
            f"The {name} was not read off." if not meter.pieces else f"The {name} was reset on the way."
        )
    readings = meter.pieces[0]
    if len(readings) < 2:
        return Absent(f"The {name} was read off once only.")
    value = readings[-1].value - readings[0].value
    step = readings[-1].step
    return Figure(
        value,
        "km",
        max(0.0, value - step),
        value + step,
        "its last digit; from its first reading to its last",
    )


def _began_at(basis: Basis) -> Answer:
    if not basis.stretch.charges:
        return Absent("No charge was read off.")
    first = basis.stretch.charges[0]
    return Figure(first.value, "%")


def _ended_at(basis: Basis) -> Answer:
    if not basis.stretch.charges:
        return Absent("No charge was read off.")
    return Figure(basis.stretch.charges[-1].value, "%")


def _remarks(basis: Basis) -> tuple[str, ...]:
    remarks = []
    charges = basis.stretch.charges
    if charges and charges[0].value < 100.0:
        remarks.append(
            f"The stretch began at {charges[0].value:g} %, not at 100 %: its range is that of {charges[0].value:g} points."
        )
    if basis.ruler in {"trip", "odometer"}:
        remarks.append(f"Distances are by {basis.ruler_name}, since there is no GPS track with the charges.")
    begins = gps_km_at(basis.seen, 0.0)
    if (
        basis.ruler == "gps"
        and begins is None
        and basis.stretch.from_s <= 0.0
        and basis.seen.track is not None
    ):
        late_s = basis.seen.seconds(basis.seen.track.began_utc_ns)
        if late_s > 60.0:
            remarks.append(
                f"The GPS track begins {late_s / 60.0:.0f} min after the drive; what was driven before it does not count."
            )
    return tuple(remarks)
