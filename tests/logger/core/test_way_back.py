"""Where the car stands on its way: out, back, on laps, past bridges and detours. Lengths against geographiclib."""

from __future__ import annotations

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from logger.core.geodesy import from_place_m
from logger.core.track import Track
from logger.core.way import Way
from logger.core.way_back import Standing, standing, unseen_m

S = 1_000_000_000
BEGAN = 1_900_000_000 * S
LAT, LON = 52.2, 1.7
SPEED_MPS = 25.0
OUT_AND_BACK = Way(None, 10.0)
LAP_M = 12_000.0
LOOP = Way(LAP_M, 10.0)


def driven(spots_m: list[tuple[float, float]], noise_m: float = 4.0, began: int = BEGAN) -> Track:
    """A drive at 25 m/s along straight lines between spots (metres east and north of the start), a noisy fix a second."""
    rng = np.random.default_rng(5)
    corners = np.array(spots_m, dtype=np.float64)
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))))
    at = np.append(np.arange(0.0, along[-1], SPEED_MPS), along[-1])
    east, north = (
        np.interp(at, along, corners[:, axis]) + rng.normal(0, noise_m, len(at)) for axis in (0, 1)
    )
    spots = [
        Geodesic.WGS84.Direct(LAT, LON, math.degrees(math.atan2(x, y)), math.hypot(x, y))
        for x, y in zip(east, north, strict=True)
    ]
    return Track(
        utc_ns=began + np.arange(len(at)) * S,
        lat_deg=np.array([spot["lat2"] for spot in spots]),
        lon_deg=np.array([spot["lon2"] for spot in spots]),
        altitude_m=np.full(len(at), np.nan),
        speed_mps=np.full(len(at), SPEED_MPS),
        distance_m=at,
    )


def here(track: Track, way: Way, unseen_m: float = 0.0) -> Standing:
    """Where it stands."""
    found = standing(track, way, BEGAN, unseen_m)
    assert isinstance(found, Standing), found
    return found


def test_roughly_how_far() -> None:
    """Within 0.1 % of geographiclib up to 5 km, also over the date line."""
    for lon_deg in (LON, 179.99):
        for bearing_deg in range(0, 360, 40):
            there = Geodesic.WGS84.Direct(LAT, lon_deg, bearing_deg, 5000.0)
            (found,) = from_place_m(np.array([there["lat2"]]), np.array([there["lon2"]]), LAT, lon_deg)
            assert pytest.approx(5000.0, rel=1e-3) == found


def test_on_the_way_out() -> None:
    """Round a corner, 7 km are 7 km back, though the start is 5 km away in a straight line."""
    assert Standing(None, pytest.approx(7000.0, abs=1.0)) == here(
        driven([(0, 0), (3000, 0), (3000, 4000)]), OUT_AND_BACK
    )


def test_on_the_way_back() -> None:
    """Out round a corner and 5 km back, on the other carriageway 25 m beside: 2 km on; nothing is left at the start."""
    out, back = [(0, 0), (3000, 0), (3000, 4000)], [(3025, 4000), (3025, -25)]
    track = driven([*out, *back, (2000, -25)])
    found = here(track, OUT_AND_BACK)
    assert found.retracing
    assert pytest.approx(2000.0, abs=100.0) == found.on_m == found.back_m

    home = here(driven([*out, *back, (0, -25)]), OUT_AND_BACK)
    assert home.retracing
    assert pytest.approx(0.0, abs=160.0) == home.on_m


def test_just_turned_round() -> None:
    """Until it is clear that the car goes back, it is said to be farther out than it is, never nearer."""
    for metres in range(100, 3000, 200):
        found = here(driven([(0, 0), (8000, 0), (8000 - metres, 0)]), OUT_AND_BACK)
        assert 8000 - metres - 100 <= found.back_m <= 8000 + metres + 1
        assert found.retracing == (metres > 1200)


def test_out_again() -> None:
    """Home and out once more by the same road: 3 km back, not 15; by another road the same."""
    for second in ((3000, 0), (0, 3000)):
        found = here(driven([(0, 0), (6000, 0), (0, 0), second]), OUT_AND_BACK)
        assert not found.retracing
        assert Standing(None, pytest.approx(3000.0, abs=160.0)) == found


def test_out_again_by_a_shortcut() -> None:
    """6 km round two corners and home; then straight to the second and 2 km on: by the shorter way."""
    first = [(0, 0), (0, 3000), (3000, 3000), (3000, 6000), (3000, 3000), (0, 3000), (0, 0)]
    found = here(driven([*first, (3000, 3000), (3000, 5000)]), OUT_AND_BACK)

    assert Standing(None, pytest.approx(math.hypot(3000, 3000) + 2000, abs=160.0)) == found


def test_round_and_the_other_way_round() -> None:
    """A round of 12 km, then 4 km of it backwards: going on that way is 8 km, turning round 4."""
    found = here(driven([*square(1.0), (3000, 0), (0, 0), (3000, 0), (3000, 1000)]), OUT_AND_BACK)

    assert found.retracing
    assert pytest.approx(8000.0, abs=160.0) == found.on_m
    assert pytest.approx(4000.0, abs=160.0) == found.back_m


def test_over_a_bridge_over_its_own_way() -> None:
    """Where its way crosses itself the car is not back there: it goes on counting."""
    spots = [(0, 0), (4000, 0), (4000, 3000), (1000, 3000), (1000, 0.0)]
    assert Standing(None, pytest.approx(13_000.0, abs=1.0)) == here(driven(spots), OUT_AND_BACK)


def square(share: float, laps: int = 0) -> list[tuple[float, float]]:
    """Whole laps of a square of 3 km, and a share of its first side but one."""
    side = LAP_M / 4
    lap = [(0.0, side), (side, side), (side, 0.0), (0.0, 0.0)]
    return [(0.0, 0.0), *lap * laps, (0.0, side), (side * share, side)]


def test_laps() -> None:
    """4.5 km into the first and the third lap of 12 km; by the sheet's length, which is true here."""
    for laps in (0, 2):
        found = here(driven(square(0.5, laps)), LOOP)
        assert laps + 1 == found.lap
        assert pytest.approx(7500.0, abs=170.0) == found.on_m
        assert pytest.approx(4500.0, abs=170.0) == found.back_m
        assert pytest.approx(LAP_M, abs=150.0) == found.lap_m


def test_at_the_start() -> None:
    """There, and so near that it may be there: nothing on, nothing back; 400 m past it a whole lap lies ahead."""
    found = here(driven([*square(1.0, 2), (3000, 3000), (3000, 0), (80, 0)]), LOOP)
    assert (0.0, 0.0, 4) == (found.on_m, found.back_m, found.lap)

    past = here(driven([*square(1.0, 2), (3000, 3000), (3000, 0), (0, 0), (0, 400)]), LOOP)
    assert 4 == past.lap
    assert pytest.approx(LAP_M - 400, abs=170.0) == past.on_m
    assert pytest.approx(400.0, abs=170.0) == past.back_m


def test_a_sheet_that_says_too_little() -> None:
    """A loop that the sheet calls 11 km is 12 km long from the second lap on; one that it calls 13 km stays that."""
    first, second = (
        here(driven(square(0.5)), Way(11_000.0, 10.0)),
        here(driven(square(0.5, 1)), Way(11_000.0, 10.0)),
    )

    assert (11_000.0, pytest.approx(12_000.0, abs=150.0)) == (first.lap_m, second.lap_m)
    assert 13_000.0 == here(driven(square(0.5, 2)), Way(13_000.0, 10.0)).lap_m


def test_a_start_that_no_fix_saw() -> None:
    """While the receiver was silent at the start, two laps are still two."""
    track = driven(square(0.5, 2), noise_m=0.0)
    gone = np.abs(track.distance_m - 12_000.0) > 400.0
    columns = ("utc_ns", "lat_deg", "lon_deg", "altitude_m", "speed_mps", "distance_m")
    found = here(Track(**{name: getattr(track, name)[gone] for name in columns}), LOOP)

    assert 3 == found.lap
    assert pytest.approx(12_000.0, abs=150.0) == found.lap_m


def test_a_detour_in_a_later_lap() -> None:
    """2 km more, and the way to the start is as far as ever from there; the first lap knows only the straight line."""
    detour = [
        (0, 0),
        (0, 1000),
        (-1000, 1000),
        (-1000, 2000),
        (0, 2000),
        (0, 3000),
        (3000, 3000),
        (3000, 2000),
    ]
    later = here(driven([*square(0.0, 1)[:-2], *detour[1:]]), LOOP)
    first = here(driven(detour), LOOP)

    assert pytest.approx(5000.0, abs=170.0) == later.on_m
    assert pytest.approx(math.hypot(3000, 2000), abs=20.0) == first.on_m


def test_turned_round_on_a_loop() -> None:
    """Back the way it came is 3.5 km."""
    found = here(driven([*square(1.0), (0, 3000), (0, 2500)]), LOOP)

    assert found.retracing
    assert pytest.approx(2500.0, abs=170.0) == found.on_m


def test_a_start_on_the_sheet() -> None:
    """The loop begins 4 km from where recording did: not reached; then laps and ways count from there."""
    there = Geodesic.WGS84.Direct(LAT, LON, 90.0, 4000.0)
    way = Way(LAP_M, 10.0, start=(there["lat2"], there["lon2"]))
    assert "the car has not been at the sheet's start yet" == standing(
        driven([(0, 0), (2000, 0)]), way, BEGAN
    )

    found = here(driven([(0, 0), (4000, 0), (4000, 3000), (6000, 3000)]), way)
    assert (1, pytest.approx(7000.0, abs=170.0)) == (found.lap, found.on_m)


def test_a_start_that_is_not_known() -> None:
    """The first fix came three minutes late, at 25 m/s; two minutes late, or parked, it is the start."""
    late = driven([(0, 0), (2000, 0)], began=BEGAN + 180 * S)
    assert "start is not known" in str(standing(late, OUT_AND_BACK, BEGAN))

    late.speed_mps[:] = 0.0
    assert isinstance(standing(late, OUT_AND_BACK, BEGAN), Standing)
    in_time = driven([(0, 0), (2000, 0)], began=BEGAN + 119 * S)
    assert isinstance(standing(in_time, OUT_AND_BACK, BEGAN), Standing)


def test_a_receiver_that_leaps() -> None:
    """The last fix 300 km away: no farther off than it has driven."""
    track = driven(square(0.5))
    track.lat_deg[-1] += 2.7

    assert pytest.approx(LAP_M - 4500.0, abs=170.0) == here(track, LOOP).on_m


def test_without_a_receiver() -> None:
    """After a minute it has driven 1.5 km more at its last speed, which is as much farther back; after ten nobody knows."""
    track = driven([(0, 0), (5000, 0)])
    assert [0.0, 0.0, 1500.0, 15_000.0, None] == [
        unseen_m(track, track.ended_utc_ns + round(seconds * S))
        for seconds in (-1.0, 9.9, 60.0, 600.0, 600.1)
    ]
    track.speed_mps[:] = np.nan
    assert 1500.0 == unseen_m(track, track.ended_utc_ns + 60 * S)  # what it drove in the last second

    assert pytest.approx(6500.0, abs=1.0) == here(track, OUT_AND_BACK, 1500.0).back_m
    assert pytest.approx(5500.0, abs=170.0) == here(driven(square(0.667)), LOOP, 1500.0).on_m
    back = driven([(0, 0), (8000, 0), (3000, 0)])
    assert pytest.approx(3000.0, abs=100.0) == here(back, OUT_AND_BACK, 1500.0).on_m
