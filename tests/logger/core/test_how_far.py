"""How far the charge will still go, and whether to turn round: what is said, and the sum behind it."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from logger.core.how_far import Asked, Reach, how_far
from logger.core.track import Track
from logger.core.turning import Turn
from logger.core.units import METRES, Distances
from logger.core.way import Way
from logger.model import Drive, Entry, Origin, Place, Status

S = 1_000_000_000
DRIVE = Drive(1_900_000_000 * S, "")
SPEED_MPS = 20.0
NORTH_DEG_A_M = 1 / 111_267.0
"""One metre north at 52 degrees; its third digit is not needed here."""
OUT_AND_BACK = Way(None, 20.0)


def place_at(utc_ns: int) -> Place | None:
    """20 m/s since the drive began; nobody measures before."""
    seconds = (utc_ns - DRIVE.began_utc_ns) / S
    return Place(52.0, 1.7, seconds * SPEED_MPS, SPEED_MPS, 0.0) if seconds >= 0 else None


def track_of(metres: float, lap_m: float | None = None) -> Track:
    """So far due north at 20 m/s, a fix a second; or round a long narrow loop, north and south 200 m apart."""
    at = np.append(np.arange(0.0, metres, SPEED_MPS), metres)
    north, east = at, np.zeros_like(at)
    if lap_m is not None:
        along = at % lap_m
        half = lap_m / 2
        north = np.where(along < half, along, lap_m - along)
        east = np.where(along < half, 0.0, 200.0)
    return Track(
        utc_ns=DRIVE.began_utc_ns + np.round(at / SPEED_MPS * S).astype(np.int64),
        lat_deg=52.0 + north * NORTH_DEG_A_M,
        lon_deg=1.7 + east / 68_700.0,
        altitude_m=np.full_like(at, np.nan),
        speed_mps=np.full_like(at, SPEED_MPS),
        distance_m=at,
    )


def asked(
    entries: list[Entry],
    distances: Distances = "km",
    now_m: float = 40_000.0,
    way: Way | None = None,
    *,
    lap_m: float | None = None,
    late_s: float = 0.0,
) -> Reach:
    """The answer when so much was driven."""
    track = track_of(now_m, lap_m)
    return how_far(
        entries, place_at, track, track.ended_utc_ns + round(late_s * S), Asked(DRIVE, distances, way)
    )


def charge(at_s: float, value: str, status: Status = Status.ACCEPTED) -> Entry:
    """A charge that was read off."""
    return Entry(
        f"{at_s}", 1, round(at_s * S), "charge", Decimal(value), "%", status, 0.9, Origin.HEARD, "", "", ""
    )


def note(at_s: float, text: str) -> Entry:
    """A note."""
    return Entry(
        f"{at_s}n", 1, round(at_s * S), "note", None, "", Status.ACCEPTED, 0.9, Origin.HEARD, "", text, ""
    )


EIGHTY_TO_SIXTY = [charge(0, "80"), charge(1000, "70"), charge(2000, "60")]
"""40 km on 20 points: 120 km to empty; at least 40 / 21 x 59.5 = 113.3, at most 40 / 19 x 61 = 128.4."""


def test_the_plain_formula() -> None:
    """Less what was driven since; with the sum written out."""
    reach = asked(EIGHTY_TO_SIXTY, now_m=44_000.0)

    assert reach.left is not None
    assert pytest.approx(200_000.0) == reach.left.range_m
    assert "116 kilometers to empty, range 200" == reach.spoken
    assert (
        "40.0 km on 20 points of charge (80 % to 60 %) is 200.0 km on 100; 60 points are left, 4.0 km were driven since: "
        "116.0 km to empty, and 109.3 km to 124.4 km as the display is rounded"
    ) == reach.reasoning
    assert reach.advice is None


def test_in_miles() -> None:
    """The sheet's own unit of distance."""
    assert "75 miles to empty, range 124" == asked(EIGHTY_TO_SIXTY, "mi").spoken


@pytest.mark.parametrize(
    "entries",
    [
        [],
        [charge(0, "80")],
        [charge(0, "80"), charge(2000, "78")],
        [charge(0, "80"), charge(10, "70")],
        [charge(0, "80"), charge(2000, "60", Status.FLAGGED)],
        [charge(-10, "80"), charge(2000, "60")],
        [charge(0, "60"), charge(2000, "80")],
        [charge(0, "90"), charge(1000, "80"), note(1100, "charging"), charge(2000, "88")],
    ],
)
def test_nothing_is_said_on_too_little(entries: list[Entry]) -> None:
    """None, one, too few points, too short, in doubt, without a place, risen, just charged: "not known yet", and why."""
    reach = asked(entries, way=OUT_AND_BACK)

    assert ("not known yet", None, None) == (reach.spoken, reach.left, reach.advice)
    assert reach.reasoning


def test_without_a_fix() -> None:
    """There is no track at all."""
    reach = how_far(EIGHTY_TO_SIXTY, place_at, None, DRIVE.began_utc_ns, Asked(DRIVE, "km", OUT_AND_BACK))

    assert "not known yet" == reach.spoken


def test_a_charging_stop_begins_anew() -> None:
    """What was used before charging says nothing of what was used since."""
    entries = [
        charge(0, "50"),
        charge(1000, "40"),
        note(1100, "charging"),
        charge(1200, "80"),
        charge(2200, "75"),
    ]
    left = asked(entries, now_m=44_000.0).left

    assert left is not None
    assert pytest.approx(20_000 / 5 * 75) == left.likely_m


def test_out_and_back() -> None:
    """40 km out of at least 113.3 less 20 x 40 / 21 = 38.1 in reserve: 75.2 - 40 = 35.2, half of it out and half back."""
    reach = asked(EIGHTY_TO_SIXTY, way=OUT_AND_BACK)

    assert reach.advice is not None
    assert Turn.GO_ON is reach.advice.turn
    assert pytest.approx((40_000 / 21 * (59.5 - 20) - 40_000) / 2) == reach.advice.room_m
    assert "120 kilometers to empty, 40 back; turn within 17" == reach.spoken
    assert reach.reasoning.endswith(
        "120.0 km to empty, and 113.3 km to 128.4 km as the display is rounded; the start is 40.0 km back the way the car "
        "came; the least less 38.1 km of reserve (20 points) is 75.2 km: go on, and turn round within 17.6 km; the wind "
        "ahead is not known, and one that helped until here will hinder on the way back"
    )


def test_the_moment_to_turn() -> None:
    """17.6 km on it is time, by the numbers; in miles and kilometres at the same place."""
    for distances in METRES:
        assert "back; turn within 0" in asked(EIGHTY_TO_SIXTY, distances, 57_600.0, OUT_AND_BACK).spoken  # type: ignore[arg-type]
    in_km, in_mi = (asked(EIGHTY_TO_SIXTY, unit, 57_700.0, OUT_AND_BACK) for unit in ("km", "mi"))

    assert "turn round now by these figures; 58 kilometers back" == in_km.spoken
    assert "turn round now by these figures; 36 miles back" == in_mi.spoken
    assert in_km.advice == in_mi.advice


def test_too_late_to_turn() -> None:
    """At least 113.3 - 37 = 76.3 km, 77 back."""
    reach = asked(EIGHTY_TO_SIXTY, now_m=77_000.0, way=OUT_AND_BACK)

    assert ("turn round now, the start may be out of reach; 77 kilometers back, 83 to empty") == reach.spoken
    assert "the charge may not last to the start" in reach.reasoning


def test_a_loop() -> None:
    """A narrow loop of 30 km, 10 km into the second lap, 2 km in reserve: 113.3 - 2 - 20 = 91.3, three laps more."""
    way = Way(30_000.0, 0.0, 2000.0)
    reach = asked(EIGHTY_TO_SIXTY, way=way, lap_m=30_000.0)

    assert "120 kilometers to empty, 20 to the start; 3 more laps fit after this one" == reach.spoken
    assert (
        "; lap 2 of 30.0 km: 20.0 km on to the start, 10.0 km back; the least less 2.0 km of reserve is 111.3 km: 3 more "
        "laps fit after this one, and not another; the wind"
    ) in reach.reasoning


@pytest.mark.parametrize(
    ("lap_km", "spoken"),
    [
        # 120 km likely, at least 113.3, less 38.1 of reserve: 75.2.
        (80.5, "120 kilometers to empty, 41 to the start; end there by these figures"),  # 121 for one more
        (60.5, "120 kilometers to empty, 21 to the start; end there by these figures"),
        (50.5, "120 kilometers to empty, 11 to the start; 1 more lap fits after this one"),
        (120.0, "turn round now by these figures; 40 kilometers back"),  # 80 on
        (40.0, "120 kilometers to empty, 0 to the start; 1 more lap fits"),  # just there
    ],
)
def test_loops(lap_km: float, spoken: str) -> None:
    """40 km driven of loops of several lengths."""
    reach = asked(EIGHTY_TO_SIXTY, way=Way(lap_km * 1000.0, 20.0), lap_m=lap_km * 1000.0)

    assert spoken == reach.spoken


def test_a_lap_that_no_longer_fits() -> None:
    """90 km of a lap of 120.5 were driven: 30.5 on, at least 63.3 - 38.1 = 25.2 above the reserve; then 105 of one of 200.5."""
    into = asked(EIGHTY_TO_SIXTY, now_m=90_000.0, way=Way(120_500.0, 20.0), lap_m=120_500.0)
    out = asked(EIGHTY_TO_SIXTY, now_m=105_000.0, way=Way(200_500.0, 20.0), lap_m=200_500.0)

    assert "70 kilometers to empty, 31 to the start; this takes of the reserve" == into.spoken
    assert "the way to the start takes of the reserve" in into.reasoning
    assert (
        "the start may be out of reach by these figures; 55 kilometers to empty, 96 to the start"
    ) == out.spoken


def back_on_the_same_road() -> Reach:
    """30 km out and 10 back."""
    track = track_of(40_000.0, 60_000.0)
    narrow = replace(track, lon_deg=np.full_like(track.lon_deg, 1.7))
    return how_far(EIGHTY_TO_SIXTY, place_at, narrow, narrow.ended_utc_ns, Asked(DRIVE, "km", OUT_AND_BACK))


def test_back_on_the_same_road() -> None:
    """20 on, and enough."""
    reach = back_on_the_same_road()

    assert "120 kilometers to empty, 20 to the start; enough" == reach.spoken
    assert "the start is 20.0 km on, by the way the car came out" in reach.reasoning


def test_a_way_that_is_not_known() -> None:
    """The sheet's start was not reached, or there was no position for too long: the charge's answer, and why not more."""
    elsewhere = asked(EIGHTY_TO_SIXTY, way=Way(None, 20.0, start=(51.0, 1.0)))
    lost = asked(EIGHTY_TO_SIXTY, way=OUT_AND_BACK, late_s=700.0)

    assert "120 kilometers to empty, range 200; way back not known" == elsewhere.spoken == lost.spoken
    assert elsewhere.reasoning.endswith("the car has not been at the sheet's start yet")
    assert lost.reasoning.endswith("no position for minutes")
    assert elsewhere.advice is lost.advice is None
    assert "120 kilometers to empty, range 200" == asked(EIGHTY_TO_SIXTY, late_s=700.0).spoken


def test_a_minute_without_a_position() -> None:
    """1.2 km at the last speed are driven, and back as well."""
    reach = asked(EIGHTY_TO_SIXTY, way=OUT_AND_BACK, late_s=60.0)

    assert "118 kilometers to empty, 42 back; turn within 16" == reach.spoken
    assert "1.2 km were driven since" in reach.reasoning
    assert "1.2 km of it by the last speed, without a position" in reach.reasoning


def test_the_page_quotes_what_is_said() -> None:
    """Each answer of the table in docs/live.md is one that can be given, but for its numbers."""
    page = (Path(__file__).resolve().parents[3] / "docs" / "live.md").read_text(encoding="utf-8")
    table = page.split("### How far, and when to turn round")[1].split("\n- ")[0]
    given = [
        asked(EIGHTY_TO_SIXTY, way=OUT_AND_BACK),
        asked(EIGHTY_TO_SIXTY, now_m=60_000.0, way=OUT_AND_BACK),
        asked(EIGHTY_TO_SIXTY, now_m=77_000.0, way=OUT_AND_BACK),
        *(
            asked(EIGHTY_TO_SIXTY, way=Way(lap_km * 1000.0, 20.0), lap_m=lap_km * 1000.0)
            for lap_km in (50.5, 80.5, 120.0)
        ),
        asked(EIGHTY_TO_SIXTY, now_m=90_000.0, way=Way(120_500.0, 20.0), lap_m=120_500.0),
        back_on_the_same_road(),
    ]

    quoted = [text for text in re.findall(r'"([^"]+)"', table) if "back" in text or "start" in text]
    assert 8 == len(quoted)
    assert {without_numbers(text) for text in quoted} == {without_numbers(reach.spoken) for reach in given}


def without_numbers(text: str) -> str:
    """An answer with all numbers alike, in miles."""
    return re.sub(r"\d+", "0", text).replace("kilometers", "miles")
