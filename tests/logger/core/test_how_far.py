"""How far the charge will still go."""

from __future__ import annotations

from decimal import Decimal

import pytest

from logger.core.how_far import how_far
from logger.model import Drive, Entry, Origin, Place, Status

S = 1_000_000_000
DRIVE = Drive(1_900_000_000 * S, "")
SPEED_MPS = 20.0


def place_at(utc_ns: int) -> Place | None:
    """20 m/s since the drive began; nobody measures before."""
    seconds = (utc_ns - DRIVE.began_utc_ns) / S
    return Place(52.0, 1.7, seconds * SPEED_MPS, SPEED_MPS, 0.0) if seconds >= 0 else None


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


def test_the_plain_formula() -> None:
    """40 km on 20 points of 80: 200 km on 100, 120 km to empty, less what was driven since; with the sum written out."""
    reach = how_far(
        [charge(0, "80"), charge(1000, "70"), charge(2000, "60")], DRIVE, place_at, "km", 44_000.0
    )

    assert pytest.approx(200_000.0) == reach.range_m
    assert pytest.approx(116_000.0) == reach.left_m
    assert "116 kilometers to empty, range 200" == reach.spoken
    assert (
        "40.0 km on 20 points of charge (80 % to 60 %) is 200.0 km on 100; 60 points are left, 4.0 km were driven since: "
        "116.0 km to empty, give or take 5 %"
    ) == reach.reasoning


def test_in_miles() -> None:
    """The sheet's own unit of distance."""
    reach = how_far([charge(0, "80"), charge(2000, "60")], DRIVE, place_at, "mi", None)

    assert "75 miles to empty, range 124" == reach.spoken


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
    ],
)
def test_nothing_is_said_on_too_little(entries: list[Entry]) -> None:
    """None, one, too few points, too short, in doubt, without a place, risen: "not known yet", and why."""
    reach = how_far(entries, DRIVE, place_at, "km", None)

    assert ("not known yet", None, None) == (reach.spoken, reach.range_m, reach.left_m)
    assert reach.reasoning


def test_a_charging_stop_begins_anew() -> None:
    """What was used before charging says nothing of what was used since."""
    entries = [
        charge(0, "50"),
        charge(1000, "40"),
        note(1100, "charging"),
        charge(1200, "80"),
        charge(2200, "75"),
    ]
    reach = how_far(entries, DRIVE, place_at, "km", None)

    assert pytest.approx(20_000 / 5 * 75) == reach.left_m
