"""A whole simulated drive on disk, to be reported: five hours past 0 % shown, with hills and wind, conditions on its sheet, doubts and decisions.

Every call was understood, as in `driven_out`; the store, the sheet and the track are as `odovox record` leaves them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
from driven_out import PAST_ZERO, entries, track
from rehearsed.car import Outing, outing_of
from rehearsed.departures import departure_of

from logger.model import RATE_HZ, Action, Alternative, Before, Decision, Drive, Entry, Fix, Status
from logger.store import DriveStore

SEED = 90_012
"""Five hours in kilometres; of neither set that anything was chosen or measured on."""
_DOUBTS = (11, 12)
"""Places of the entries that are left in doubt, and of the one that a person changed, among the charges."""
_CHANGED = 5


def five_hours(folder: Path, *, seed: int = SEED) -> Path:
    """Store the drive of a seed in a folder, which is returned."""
    outing = outing_of(seed, PAST_ZERO)
    departure = departure_of(seed)
    made, decisions = _reviewed(entries(seed, outing))
    with DriveStore.create(folder, Drive(departure.began_utc_ns, sheet(outing))) as store:
        source = store.add_source("microphone", "", 0)
        numbers: dict[int, int] = {}
        with store.atomic():
            for said in sorted({each.utterance_id for each in made}):
                at_ns = min(each.at_ns for each in made if each.utterance_id == said)
                first = round(at_ns / 1e9 * RATE_HZ)
                numbers[said] = store.add_utterance(source.id, first, 4 * RATE_HZ, at_ns, "").id
            store.finish_source(source.id, round((outing.ends_s + 30.0) * RATE_HZ))
            store.add_track_file("gpsd", "cd", fixes(outing))
            for decision in decisions:
                store.add_decision(decision)
            store.replace_entries(replace(each, utterance_id=numbers[each.utterance_id]) for each in made)
    return folder


def fixes(outing: Outing) -> list[Fix]:
    """Return a fix a second with altitude and speed, each with a receiver's noise."""
    measured = track(outing)
    seconds = (measured.utc_ns - measured.utc_ns[0]) / 1e9
    angle = 2.0 * math.pi * np.interp(seconds, outing.seconds, outing.distance_m) / outing.conditions.lap_m
    height = outing.conditions.altitude_m + sum(
        hill.height_m * np.sin(hill.periods * angle + hill.phase_rad) for hill in outing.conditions.hills
    )
    rng = np.random.default_rng((outing.seed, 91))
    knots = np.arange(0.0, seconds[-1] + 120.0, 60.0)
    wander = np.interp(seconds, knots, rng.normal(0.0, 3.0, len(knots)))
    return [
        Fix(int(utc_ns), float(lat), float(lon), round(float(up), 1), float(speed), 0.8)
        for utc_ns, lat, lon, up, speed in zip(
            measured.utc_ns,
            measured.lat_deg,
            measured.lon_deg,
            height + wander,
            measured.speed_mps,
            strict=True,
        )
    ]


def sheet(outing: Outing) -> str:
    """Return the sheet of a drive, with all that can be told of its conditions."""
    car, here = outing.car, outing.conditions
    system = "miles" if outing.seed % 2 else "metric"
    wind_from_deg = math.degrees(here.wind_towards_rad) + 180.0
    return f"""units = "{system}"

[loop]
length = "{here.lap_m / 1000.0:.1f} km"

[test]
car = "Pebble {car.usable_kwh:.0f}"
tyres = "summer, 2.5 bar, 4 mm"
wheels = "17 inch"
drive_mode = "normal"
cabin = "preconditioned, 20 degrees"
usable_kwh = {car.usable_kwh:.1f}
rated_range_km = {round(1.25e-3 * float(outing.distance_m[-1]))}
target_gps_speed_kmh = {here.speed_mps * 3.6:.1f}
temperature_degC = {here.outside_c:.1f}
humidity_pct = 55
wind_mps = {here.wind_mps:.1f}
wind_from_deg = {wind_from_deg % 360.0:.0f}
mass_kg = {car.mass_kg:.0f}
drag_area_m2 = {car.drag_area_m2:.3f}
rolling_resistance = {car.rolling:.4f}
drive_efficiency = {car.drive_efficiency:.3f}
auxiliary_w = {car.auxiliary_w:.0f}
"""


def _reviewed(made: Sequence[Entry]) -> tuple[list[Entry], list[Decision]]:
    """Return the entries with two in doubt and one changed by a person, and who did that."""
    charges = [each for each in made if each.quantity == "charge"]
    doubtful = {charges[place].id for place in _DOUBTS}
    changed = charges[_CHANGED]
    told = []
    for each in made:
        if each.id in doubtful:
            told.append(_in_doubt(each))
        elif each.id == changed.id:
            told.append(replace(each, status=Status.CORRECTED, reason="corrected by a person"))
        else:
            told.append(each)
    before = Before(Status.FLAGGED, "charge", (changed.value or Decimal(0)) + 10, "%", "")
    evening_ns = made[-1].at_ns + departure_of(SEED).began_utc_ns + 3 * 3600 * 10**9
    decision = Decision(
        0,
        evening_ns,
        "Ada",
        Action.REPLACE,
        changed.id,
        "charge",
        changed.value,
        "%",
        None,
        "heard it again",
        was=before,
    )
    return told, [decision]


def _in_doubt(entry: Entry) -> Entry:
    assert entry.value is not None
    other = entry.value - 10
    return replace(
        entry,
        status=Status.FLAGGED,
        confidence=0.71,
        reason=f"{other} % sounds alike and fits as well",
        alternatives=(Alternative(other, "%", f"checkpoint {other} percent", 0.2),),
    )
