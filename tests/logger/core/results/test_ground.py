"""The road's height from a receiver's: known hills, flat ground, gaps, leaps, and what is missing."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from tracked_drives import straight

from logger.core.geodesy import Floats
from logger.core.results.ground import CELL_M, Ground, ground_of
from logger.core.track import Track

SPEED_MPS = 28.0


def hills(driven: Floats) -> Floats:
    """Three waves of 40, 12 and 6 m, of 40, 9 and 4 km."""
    parts = ((40.0, 40e3), (12.0, 9e3), (6.0, 4e3))
    return np.asarray(sum(high * np.sin(2.0 * math.pi * driven / length) for high, length in parts) + 200.0)


def noise(seed: int, count: int, wander_m: float, white_m: float) -> Floats:
    """A minute's wander, and white noise."""
    rng = np.random.default_rng(seed)
    keep, value = math.exp(-1.0 / 60.0), rng.normal(0.0, wander_m)
    walk = []
    for push in rng.normal(0.0, wander_m * math.sqrt(1.0 - keep * keep), count).tolist():
        value = keep * value + push
        walk.append(value)
    return np.array(walk) + rng.normal(0.0, white_m, count)


def track(
    seed: int = 0, wander_m: float = 0.0, white_m: float = 0.0, km: float = 120.0, high: float = 1.0
) -> Track:
    """A straight road over the hills, `high` times as high."""
    driven = np.arange(0.0, 1000.0 * km, SPEED_MPS)
    off = noise(seed, len(driven), wander_m, white_m)
    return Track.from_fixes(straight(70.0, driven, lambda along: high * hills(along) + off))[0]


def found(track: Track) -> Ground:
    """The ground, which there must be."""
    ground = ground_of(track)
    assert isinstance(ground, Ground)
    return ground


def test_a_receiver_without_noise_is_left_alone() -> None:
    """Within 0.3 m all along."""
    ground = found(track())

    assert pytest.approx(CELL_M) == float(np.diff(ground.distance_m)[0])
    assert 0.3 > float(np.abs(ground.height_m - hills(ground.distance_m)).max())


@pytest.mark.parametrize("seed", range(4))
def test_noise_is_told_and_taken_out(seed: int) -> None:
    """3 m of wander over 1.7 km and 0.5 m of white noise: told within a fifth; hills of 4 km keep some of the wander."""
    noisy = track(seed, 3.0, 0.5)
    ground = found(noisy)
    off = float(np.std(ground.height_m - hills(ground.distance_m)))

    assert pytest.approx(math.hypot(3.0, 0.5), rel=0.2) == ground.noise_m
    assert 2.9 > off
    assert pytest.approx(off, rel=0.25) == ground.sd_m
    spread = np.std(ground.others_m - ground.height_m)
    assert pytest.approx(ground.sd_m, rel=0.4) == float(spread)


def test_the_same_drive_has_always_the_same() -> None:
    """Nothing is drawn."""
    one, other = found(track(3, 3.0, 0.5)), found(track(3, 3.0, 0.5))

    np.testing.assert_array_equal(one.others_m, other.others_m)
    np.testing.assert_array_equal(one.height_m, other.height_m)


def test_gaps_and_leaps_do_no_harm() -> None:
    """A tunnel of 3 km, a fifth of all altitudes missing here and there, and a leap of 400 m."""
    whole = track(1, 2.0, 0.4)
    altitude = whole.altitude_m.copy()
    altitude[np.random.default_rng(1).random(len(altitude)) < 0.2] = np.nan
    altitude[1000:1107] = np.nan
    altitude[3000:3005] += 400.0
    ground = found(dataclasses.replace(whole, altitude_m=altitude))
    off = np.abs(ground.height_m - hills(ground.distance_m))

    assert 25.0 > float(off.max())
    assert 8.0 > float(off[np.abs(ground.distance_m - 3000 * SPEED_MPS) < 3_000.0].max())
    assert pytest.approx(1.0 - 107 * SPEED_MPS / 120_000.0, abs=0.002) == ground.known


def test_a_stop_is_one_place() -> None:
    """Ten minutes standing, the altitude wandering by 5 m: the road is as high as it was."""
    driven = np.concatenate(
        (np.arange(0.0, 4e4, SPEED_MPS), np.full(600, 4e4), np.arange(4e4, 8e4, SPEED_MPS))
    )
    off = noise(5, len(driven), 5.0, 0.5)
    ground = found(Track.from_fixes(straight(70.0, driven, lambda along: hills(along) + off))[0])

    assert 6.0 > float(np.abs(ground.height_m - hills(ground.distance_m)).max() - 5.0)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda altitude: np.full_like(altitude, np.nan), "gave no altitudes"),
        (lambda altitude: np.where(np.arange(len(altitude)) < 0.4 * len(altitude), altitude, np.nan), "40 %"),
        (lambda altitude: np.where(np.arange(len(altitude)) == 7, altitude, np.nan), "Only 0 %"),
        (lambda altitude: np.full_like(altitude, np.inf), "gave no altitudes"),
    ],
)
def test_what_is_missing_is_said(change: object, why: str) -> None:
    """Too few altitudes."""
    whole = track(km=30.0)
    answer = ground_of(dataclasses.replace(whole, altitude_m=change(whole.altitude_m)))  # type: ignore[operator]

    assert isinstance(answer, str)
    assert why in answer


def test_a_short_way_has_no_profile() -> None:
    """A kilometre."""
    assert "too short" in str(ground_of(track(km=1.0)))
