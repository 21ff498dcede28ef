"""What people plan a trip with: the distance from 80 % to 10 %, a reserve, and the time it takes at the test speed. Pure."""

from __future__ import annotations

import numpy as np

from logger.core.results.basis import Basis
from logger.core.results.figures import Absent, Answer, Figure, Line, Section
from logger.core.results.range_driven import LEAST_CHARGE_TO_SCALE, from_full, projected_covers
from logger.core.results.spread import Interval, normal
from logger.core.units import KMH_PER_MPS

KEY = "planning"
UPPER_PCT, LOWER_PCT = 80.0, 10.0
RESERVE_PCT = 10.0


def section(basis: Basis) -> Section:
    """Return the figures for planning."""
    leg = between_charges(basis)
    speed, whence = _speed_kmh(basis)
    lines = (
        Line("eighty_to_ten", f"From {UPPER_PCT:g} % to {LOWER_PCT:g} %", leg),
        Line("reserve", f"A reserve of {RESERVE_PCT:g} %", _reserve(basis)),
        Line("full_to_reserve", f"From 100 % to {RESERVE_PCT:g} %", _full_to_reserve(basis)),
        Line("test_speed", "The test speed", speed),
        Line("eighty_to_ten_time", f"Time from {UPPER_PCT:g} % to {LOWER_PCT:g} % at it", _time(leg, speed)),
    )
    remarks = (whence,) if whence else ()
    return Section(KEY, "For planning a trip", lines, (), remarks)


def between_charges(basis: Basis) -> Answer:
    """Return the distance from where 80 % first is shown to where 10 % is: as driven where the readings span it, else projected."""
    if basis.model is None:
        return Absent(basis.why_not_projected)
    first = basis.marks[0].reading.value
    last = min(each.reading.value for each in basis.marks)
    if first > UPPER_PCT and last <= LOWER_PCT:
        told = basis.model.between(UPPER_PCT, LOWER_PCT)
        if told is not None and told.km > 0.0:
            return normal(told.km, told.sd_km).figure(
                "km", f"the display's rounding, between the readings{basis.but_for_ruler}"
            )
    if first < LEAST_CHARGE_TO_SCALE:
        return Absent(f"The stretch that counts began at {first:g} %, too little of a battery to say it of.")
    told = basis.model.between(UPPER_PCT, LOWER_PCT)
    if told is None or told.km <= 0.0:
        return Absent(basis.why_not_projected)
    remark = f"Projected: the charge was read off from {first:g} % to {last:g} %."
    return normal(told.km, told.sd_km).figure("km", projected_covers(basis), estimate=True, remark=remark)


def _reserve(basis: Basis) -> Answer:
    """Return what the last points are good for, as on the whole stretch."""
    if basis.model is None:
        return Absent(basis.why_not_projected)
    last = min(each.reading.value for each in basis.marks)
    told = basis.model.between(RESERVE_PCT, 0.0)
    if told is None or told.km <= 0.0:
        return Absent(basis.why_not_projected)
    if last <= 0.0:
        return normal(told.km, told.sd_km).figure("km", "the display's rounding", remark="As it was driven.")
    return normal(told.km, told.sd_km).figure(
        "km", projected_covers(basis), estimate=True, remark="Projected: 0 % was not reached."
    )


def _full_to_reserve(basis: Basis) -> Answer:
    whole, reserve = from_full(basis), _reserve(basis)
    if isinstance(whole, Absent):
        return whole
    if isinstance(reserve, Absent):
        return reserve
    value = whole.value - reserve.value
    if value <= 0.0 or whole.low is None or whole.high is None or reserve.low is None or reserve.high is None:
        return Absent("The reserve is uncertain by more than the range.")
    ends = Interval(value, value - (whole.value - whole.low), value + (whole.high - whole.value))
    return ends.wider((reserve.high - reserve.low) / 4.0).figure(
        "km", projected_covers(basis), estimate=whole.estimate or reserve.estimate
    )


def _speed_kmh(basis: Basis) -> tuple[Answer, str]:
    """Return the speed that was held: the sheet's, else the median of GPS while driving."""
    told = basis.told.get("target_gps_speed")
    if told is not None:
        return Figure(told, "km/h"), ""
    track = basis.seen.track
    if track is not None:
        speed = track.speed_mps[np.isfinite(track.speed_mps)] * KMH_PER_MPS
        driving = speed[speed > 20.0]
        if len(driving) >= 60:
            return Figure(float(np.median(driving)), "km/h"), (
                "The sheet tells no target_gps_speed, so the test speed is the median of the GPS speeds."
            )
    why = "The sheet tells no target_gps_speed_kmh or target_gps_speed_mph, and there are no GPS speeds to go by."
    return Absent(why), ""


def _time(leg: Answer, speed: Answer) -> Answer:
    if isinstance(leg, Absent):
        return leg
    if isinstance(speed, Absent):
        return speed
    hours = 3600.0 / speed.value
    low, high = (None if end is None else end * hours for end in (leg.low, leg.high))
    return Figure(leg.value * hours, "s", low, high, leg.covers, leg.estimate)
