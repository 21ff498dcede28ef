"""How the car's own instruments count beside GPS: trip meter, odometer, speedometer. Pure."""

from __future__ import annotations

import numpy as np

from logger.core.results.basis import Basis
from logger.core.results.figures import Absent, Answer, Figure, Line, Section
from logger.core.results.observed import Observed
from logger.core.results.rulers import Meter
from logger.core.results.spread import t95
from logger.core.units import KMH_PER_MPS

KEY = "meters"
LEAST_SPEED_KMH = 20.0
"""Below that a car speeds up or slows down, and what is said is a second old."""
_NANO = 1e9
_LOOK_S = 1.0
"""A driver looks at the dash about so long before the first word."""


def section(basis: Basis) -> Section:
    """Return the factors of the meters and the error of the speedometer."""
    error, spread, share = _speedometer(basis.seen)
    lines = (
        Line("trip_factor", "Trip meter over GPS", _factor(basis.trip)),
        Line("odometer_factor", "Odometer over GPS", _factor(basis.odometer)),
        Line("speedometer_error", "Indicated less GPS speed, mean", error),
        Line("speedometer_spread", "Indicated less GPS speed, standard deviation", spread),
        Line("speedometer_share", "Indicated less GPS speed, of the GPS speed", share),
    )
    return Section(KEY, "The car's own instruments", lines)


def _factor(meter: Meter) -> Answer:
    if isinstance(meter.factor, Absent):
        return meter.factor
    remark = ""
    if len(meter.pieces) > 1:
        remark = "Over all readings, each piece between resets with a beginning of its own."
    return meter.factor.figure("", "the last digits read and the receiver's noise", remark=remark)


def speed_errors_kmh(seen: Observed) -> tuple[tuple[float, float], ...]:
    """Return (GPS speed, indicated less GPS speed) at each reading of the speedometer that has a GPS speed."""
    if seen.track is None:
        return ()
    found = []
    for each in seen.of("indicated_speed"):
        place = seen.track.at(seen.drive.began_utc_ns + round((each.at_s - _LOOK_S) * _NANO))
        if place is None or place.speed_mps is None or not np.isfinite(place.speed_mps):
            continue
        gps_kmh = place.speed_mps * KMH_PER_MPS
        if gps_kmh >= LEAST_SPEED_KMH:
            found.append((gps_kmh, each.value - gps_kmh))
    return tuple(found)


def _speedometer(seen: Observed) -> tuple[Answer, Answer, Answer]:
    if not seen.of("indicated_speed"):
        none = Absent("The indicated speed was not read off; call out 'indicated' with a speed now and then.")
        return none, none, none
    found = speed_errors_kmh(seen)
    if not found:
        none = Absent("There is no GPS speed where the indicated speed was read off.")
        return none, none, none
    gps, off = np.array(found).T
    mean, share = float(np.mean(off)), float(np.mean(off) / np.mean(gps) * 100.0)
    if len(found) == 1:
        one = Absent("The indicated speed was read off once only.")
        return Figure(mean, "km/h", remark="From one reading."), one, Figure(share, "%")
    sd = float(np.std(off, ddof=1))
    half = t95(len(found) - 1) * sd / len(found) ** 0.5
    covers = f"the scatter of {len(found)} readings"
    error = Figure(mean, "km/h", mean - half, mean + half, covers)
    of_gps = half / float(np.mean(gps)) * 100.0
    return error, Figure(sd, "km/h"), Figure(share, "%", share - of_gps, share + of_gps, covers)
