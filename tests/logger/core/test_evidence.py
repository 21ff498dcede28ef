"""What the whole drive says about its readings."""

from __future__ import annotations

from decimal import Decimal

import pytest
from called_drives import BEGAN, LANGUAGE, NANO, SPEED_MPS, CalledDrive, PlaceAt, nowhere, steady

from logger.core.candidates import as_measured, read_call
from logger.core.evidence import Surroundings, gather_facts
from logger.core.rules import Facts, Mark
from logger.core.rules.alone import around_the_clock
from logger.core.said import take_in
from logger.model import Drive, Place


def facts_of(drive: CalledDrive) -> Facts:
    """The facts of a drive with these calls."""
    calls = [
        read_call(utterance, as_measured(recognition), LANGUAGE)
        for utterance, recognition in zip(drive.utterances, drive.recognitions, strict=True)
    ]
    said = take_in([call for call in calls if call is not None])
    around = Surroundings(Drive(BEGAN, ""), drive.place_at, [spoken.at_ns for spoken in said.readings])
    return gather_facts(LANGUAGE.phrasebook.quantities, said.remarks, said.readings, around)


def clocks(*calls: tuple[float, str], place_at: PlaceAt = steady) -> float | None:
    """What is learned of the clock from readings at these minutes of a drive that began at 07:00 UTC."""
    drive = CalledDrive(place_at=place_at)
    for minute, words in calls:
        drive.call(60 * minute, f"checkpoint time {words}")
    return facts_of(drive).clock_ahead_min


def test_limits_are_those_of_the_language() -> None:
    """Every quantity is there by name."""
    assert {each.name for each in LANGUAGE.phrasebook.quantities} == set(facts_of(CalledDrive()).quantities)


def test_notes_become_marks() -> None:
    """With the time they were said and the distance there; one that is unclear does not count."""
    drive = CalledDrive()
    drive.call(100, "note charging")
    drive.call(50, "note charging", "note hill", scores=[0.0, -0.1])

    assert {"charging": (Mark(100 * NANO, 100 * SPEED_MPS / 1000),)} == facts_of(drive).marks


@pytest.mark.parametrize(
    ("calls", "ahead"),
    [
        ((), None),
        (((5, "seven oh five"),), None),
        (((5, "seven oh five"), (20, "seven twenty")), 0.0),
        (((5, "eight fifteen"), (20, "eight thirty"), (30, "three oh five")), 70.0),
        (((5, "eight fifteen"), (20, "five thirty")), None),
    ],
)
def test_the_clock_is_learned_from_readings_that_agree(
    calls: tuple[tuple[float, str], ...], ahead: float | None
) -> None:
    """At least two of them; the half of the day comes from the longitude (here 0.5 degrees east)."""
    learned = clocks(*calls)

    assert (learned is None) == (ahead is None)
    assert ahead is None or around_the_clock((learned or 0.0) - ahead) == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize("misheard", ["thirty two", "thirty three", "thirty six", "thirty seven"])
def test_one_misheard_by_a_minute_or_two_moves_nothing(misheard: str) -> None:
    """A "thirty four" as "thirty two": the others agree, and none of them is off by more than the minute that a display rounds."""
    said = (
        (5.1, "five"),
        (12.9, "twelve"),
        (20.5, "twenty"),
        (34.3, misheard),
        (41.4, "forty one"),
        (50.8, "fifty"),
    )
    learned = clocks(
        *[(minute, f"eight {words}" if minute > 10 else "eight oh five") for minute, words in said]
    )

    assert learned is not None
    assert 59.0 < learned <= 60.0


def test_a_clock_without_longitude() -> None:
    """Said with its half of the day it is learned; without it both halves have equal voices, and nothing is."""
    learned = clocks((5, "seven oh five a m"), (20, "seven twenty a m"), place_at=nowhere)

    assert learned is not None
    assert around_the_clock(learned) == pytest.approx(0.0, abs=1.0)
    assert clocks((5, "seven oh five"), (20, "seven twenty"), place_at=nowhere) is None


def test_time_without_gps_is_counted() -> None:
    """Between two readings ten minutes apart nobody looked for four minutes: in a gap, and where there is no place."""

    def place_at(utc_ns: int) -> Place | None:
        second = (utc_ns - BEGAN) / NANO
        if 120 < second < 240:
            return None
        return Place(0.0, 0.0, second, None, 120.0 if 300 < second < 420 else 1.0)

    around = Surroundings(Drive(BEGAN, ""), place_at, [0, 600 * NANO])
    seen = [around.observe("trip", Decimal(1), "km", at_s * NANO) for at_s in (0, 180, 600)]

    assert [0.0, pytest.approx(60, abs=30), pytest.approx(240, abs=60)] == [each.unseen_s for each in seen]


def test_a_long_pause_costs_no_more() -> None:
    """A drive that goes on after a month is looked at as often as one of two days."""
    asked = 0

    def place_at(_utc_ns: int) -> Place | None:
        nonlocal asked
        asked += 1
        return None

    Surroundings(Drive(BEGAN, ""), place_at, [0, 30 * 86_400 * NANO])

    assert asked <= 5_001
