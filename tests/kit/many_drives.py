"""Many simulated drives as drive folders, for what looks at hundreds of them: every call understood, a fix a second.

What is read off is what the invented car's dash showed; no sound, no recogniser. Each folder follows from its seed alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
from rehearsed.car import Outing, outing_of
from rehearsed.dash import Dash
from rehearsed.departures import departure_of
from rehearsed.tracks import fixes
from speechkit.calls import System

from logger.model import Drive, Entry, Fix, Origin, Status
from logger.store import DriveStore

NANO = 1_000_000_000
SEEDS = range(70_000, 71_000)
"""Of drives that only comparing looks at."""
WHOLE_FIXES, WHOLE_ENTRIES = 18_000, 400
"""What a whole drive of five hours has."""
_QUANTITIES = ("charge", "trip", "range_left", "efficiency", "outside_temperature", "indicated_speed")
_EACH = (1, 1, 2, 4, 6, 12)
"""Every how many checkpoints each of them is read off."""


def make_drives(
    folder: Path, count: int, *, first: int = 0, every_s: int = 1, only: int | None = None, test: str = ""
) -> Path:
    """Make so many drive folders in a folder; return it. `every_s` and `only` (entries) make lighter ones, `test` as `make_drive`."""
    for seed in SEEDS[first : first + count]:
        make_drive(
            folder / f"loop-{seed - SEEDS[0]:03}",
            seed,
            every_s=every_s,
            only=only or WHOLE_ENTRIES,
            test=test,
        )
    return folder


def make_drive(
    folder: Path, seed: int, *, every_s: int = 1, only: int = WHOLE_ENTRIES, test: str = ""
) -> Path:
    """Make the drive folder of a seed; `test` is more of the sheet's `[test]`, which comes last and so is not to repeat a key."""
    outing = outing_of(seed)
    with DriveStore.create(folder, Drive(departure_of(seed).began_utc_ns, sheet(outing, test))) as store:
        store.add_track_file("track.gpx", f"{seed}", with_altitude(outing, fixes(seed))[::every_s])
        source = store.add_source("microphone", f"{seed}", 0)
        with store.atomic():
            made = list(entries(outing, only))
            for number in range(1, 1 + max(each.utterance_id for each in made)):
                store.add_utterance(source.id, number * 16_000, 16_000, number * NANO, "")
            store.replace_entries(made)
    return folder


def sheet(outing: Outing, test: str = "") -> str:
    """Return the sheet: the car and the weather as they are simulated."""
    here = outing.conditions
    return (
        'units = "metric"\n[test]\n'
        f'car = "car {outing.seed}"\n'
        f"usable_kwh = {outing.car.usable_kwh:.1f}\n"
        f"target_gps_speed_kmh = {here.speed_mps * 3.6:.1f}\n"
        f"temperature_degC = {here.outside_c:.1f}\n"
        f"wind_mps = {here.wind_mps:.1f}\n"
        f"wind_from_deg = {(math.degrees(here.wind_towards_rad) + 180.0) % 360.0:.0f}\n"
        f"{test}"
    )


def with_altitude(outing: Outing, driven: list[Fix]) -> list[Fix]:
    """Return fixes with the height of the loop there, and the car standing at the end until five hours are over."""
    here = outing.conditions
    rng = np.random.default_rng((outing.seed, 73))
    seconds = np.arange(len(driven), dtype=np.float64)
    angle = 2 * math.pi * np.interp(seconds, outing.seconds, outing.distance_m) / here.lap_m
    height = here.altitude_m + sum(
        hill.height_m * np.sin(hill.periods * angle + hill.phase_rad) for hill in here.hills
    )
    height += rng.normal(0.0, 1.0, len(driven))
    moving = [replace(fix, altitude_m=metres) for fix, metres in zip(driven, height.tolist(), strict=True)]
    last = moving[-1]
    standing = [
        replace(last, utc_ns=last.utc_ns + second * NANO, speed_mps=0.0)
        for second in range(1, WHOLE_FIXES - len(moving) + 1)
    ]
    return [*moving, *standing]


def entries(outing: Outing, count: int = WHOLE_ENTRIES) -> Iterator[Entry]:
    """Yield so many readings, evenly over the drive: all accepted."""
    system: System = "metric"
    dash = Dash(outing, system)
    share = sum(1.0 / each for each in _EACH)
    checkpoints = math.ceil(count / share)
    made = 0
    for number, at_s in enumerate(np.linspace(20.0, outing.ends_s - 5.0, checkpoints).tolist()):
        place = 0
        for quantity, each in zip(_QUANTITIES, _EACH, strict=True):
            shown = dash.shows(quantity, at_s) if number % each == 0 else None
            if shown is None or made == count:
                continue
            place += 1
            made += 1
            yield Entry(
                id=f"{number + 1}-{place}",
                utterance_id=number + 1,
                at_ns=round(at_s * NANO),
                quantity=quantity,
                value=shown.value,
                unit=shown.unit,
                status=Status.ACCEPTED,
                confidence=0.99,
                origin=Origin.HEARD,
                heard="as it was shown",
                note="",
                reason="",
            )
