"""A short drive on disk, made from seeds: sound with calls in cabin noise, and the track it was driven along."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import simulated_drives
from speechkit.calls import SpokenCall, call, command, reading
from speechkit.drive import DriveItem, DriveTruth, render
from speechkit.voices import voice

from logger.core.utc import format_utc
from logger.model import Fix

STARTED = format_utc(simulated_drives.BEGAN_NS)
"""When sound and track begin."""
SPEED_MPS = 25.0
LENGTH_S = 75.0
_VOICE = "flite-kal16"
_EVERY_S = 9.0


@dataclass(frozen=True, slots=True)
class ShortDrive:
    """A drive's files and what was said in it."""

    sound: Path
    track: Path
    sheet: Path
    truth: tuple[DriveTruth, ...]


def make(folder: Path, *, seed: int = 1, first_s: float = 4.0, suffix: str = "flac") -> ShortDrive:
    """Make a drive of 75 s with 7 calls and a note, a steady 25 m/s, in a folder that exists."""
    rng = random.Random(f"short drive {seed}")
    items = []
    for number in range(7):
        at_s = first_s + _EVERY_S * number
        items.append(DriveItem(at_s, _call(number, at_s, rng), voice(_VOICE)))
    items.append(DriveItem(first_s + _EVERY_S * 7, command("note headwind"), voice(_VOICE)))
    sound = folder / f"drive.{suffix}"
    truth = render(sound, items, LENGTH_S, 20.0, seed=seed)
    track = folder / "drive.gpx"
    fixes, _ = simulated_drives.drive(
        simulated_drives.constant(SPEED_MPS), LENGTH_S + 1, simulated_drives.Noise(speed_mps=0.05), seed=seed
    )
    track.write_text(gpx(fixes), encoding="utf-8")
    sheet = folder / "sheet.toml"
    sheet.write_text('units = "metric"\n\n[test]\ncar = "Pebble 40"\n', encoding="utf-8")
    return ShortDrive(sound, track, sheet, truth)


def gpx(fixes: Iterable[Fix]) -> str:
    """Return fixes as a GPX 1.1 document."""
    points = "".join(
        f'<trkpt lat="{fix.lat_deg:.7f}" lon="{fix.lon_deg:.7f}"><time>{format_utc(fix.utc_ns)}</time></trkpt>\n'
        for fix in fixes
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="short drives" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n'
        f"{points}</trkseg></trk></gpx>\n"
    )


def _call(number: int, at_s: float, rng: random.Random) -> SpokenCall:
    """Charge falls a point every other call, and the trip is what was driven."""
    driven_km = Decimal(f"{SPEED_MPS * at_s / 1000:.1f}")
    readings = [reading("charge", Decimal(64 - number // 2), "%", rng)]
    readings.append(reading("trip", driven_km + 42, "km", rng))
    return call(readings)
