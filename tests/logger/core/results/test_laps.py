"""Where laps end and where a drive turned round."""

from __future__ import annotations

import numpy as np
import pytest
from read_drives import seen, straight_track

from logger.core.results.laps import legs
from logger.core.results.observed import Observed
from logger.core.results.stretch import stretch_of
from logger.core.track import Track
from logger.core.way import Way


def circle(lap_km: float, length_km: float) -> Track:
    """Laps of a circle."""
    straight = straight_track(length_km)
    angle = 2.0 * np.pi * straight.distance_m / 1000.0 / lap_km
    radius_km = lap_km / (2.0 * np.pi)
    return Track(
        straight.utc_ns,
        48.0 + radius_km * np.sin(angle) / 111.13,
        -20.0 + radius_km * (1.0 - np.cos(angle)) / (111.32 * np.cos(np.radians(48.0))),
        straight.altitude_m,
        straight.speed_mps,
        straight.distance_m,
    )


def told(drive: Observed) -> list[tuple[str, float, float]]:
    """The legs, rounded to 0.1 km."""
    return [
        (leg.name, round(leg.from_km, 1), round(leg.to_km, 1)) for leg in legs(drive, stretch_of(drive), 0.0)
    ]


def test_laps_by_the_track() -> None:
    """A loop of 30 km driven for 100 km is three laps; the rest of the fourth is none."""
    drive = seen([], track=circle(30.0, 100.0), way=Way(30_000.0, 10.0))

    assert [1, 2, 3] == [int(name.removeprefix("lap ")) for name, _, _ in told(drive)]
    assert [pytest.approx(end, abs=0.1) for end in (30.0, 60.0, 90.0)] == [end for _, _, end in told(drive)]


def test_laps_by_notes() -> None:
    """`loop complete` ends a lap, whatever the sheet says."""
    rows = [(29.0, "note", "loop complete"), (61.0, "note", "loop complete")]

    assert [("lap 1", 0.0, 29.0), ("lap 2", 29.0, 61.0)] == told(seen(rows, track=straight_track(100.0)))


def test_out_and_back() -> None:
    """By the farthest point where the sheet says so; by the note otherwise; else not at all."""
    track = straight_track(100.0, back_from_km=50.0)

    assert [("out", 0.0, 50.0), ("back", 50.0, 100.0)] == told(seen([], track=track, way=Way(None, 20.0)))
    noted = told(seen([(51.0, "note", "turning round")], track=track))
    assert [("out", 0.0, 51.0), ("back", 51.0, 100.0)] == noted
    assert [] == told(seen([], track=track))


def test_never_turned() -> None:
    """A drive out only has its farthest point at the end: there is no way back to tell of."""
    assert [] == told(seen([], track=straight_track(100.0), way=Way(None, 20.0)))
    assert [] == told(seen([], way=Way(None, 20.0)))


def test_the_start_of_the_sheet() -> None:
    """Laps count from the sheet's start, where the recording began elsewhere."""
    half_way = (48.0, -20.0 + 2.0 * 30.0 / (2.0 * np.pi) / (111.32 * np.cos(np.radians(48.0))))
    drive = seen([], track=circle(30.0, 80.0), way=Way(30_000.0, 10.0, start=half_way))

    assert [pytest.approx(end, abs=0.2) for end in (15.0, 45.0, 75.0)] == [end for _, _, end in told(drive)]
