"""What sections start from: by what distances are measured, where the stretch begins, and where 0 % came."""

from __future__ import annotations

from dataclasses import replace

import pytest
from read_drives import charges, seen, straight_track

from logger.core.results.basis import MOST_READINGS, basis_of
from logger.core.results.figures import Absent
from logger.core.results.spread import Interval

DOWN = charges(4.0, range(100, -1, -1))


def test_by_gps() -> None:
    """With a track distances are by GPS, from the drive's beginning."""
    basis = basis_of(seen(DOWN, track=straight_track(420.0)))

    assert ("gps", 0.0, 100) == (basis.ruler, basis.origin_km, basis.zero_mark)
    assert basis.end_km == pytest.approx(420.0, abs=0.05)
    assert isinstance(basis.zero, Interval)
    # 0 first appears when the display would round 0.5 % down: 99.5 points of 4 km.
    assert basis.zero.low <= 398.0 <= basis.zero.high
    assert basis.marks[99].km <= basis.zero.low + 0.1
    assert basis.zero.high <= basis.marks[100].km + 0.1


def test_by_trip_meter() -> None:
    """Without a track they are by the trip meter where it was read with the charge."""
    said = [row for km, *rest in DOWN[::10] for row in ((km, *rest), (km, "trip", f"{km:.1f}", "km"))]
    basis = basis_of(seen(said))

    assert "trip" == basis.ruler
    assert isinstance(basis.zero, Interval)
    assert 358.0 <= basis.zero.low <= basis.zero.high <= 398.2


def test_by_nothing() -> None:
    """Without a track and a meter there is nothing to measure by, and each question has its answer why."""
    basis = basis_of(seen(DOWN))

    assert ("", ()) == (basis.ruler, basis.marks)
    assert isinstance(basis.reach(), Absent)
    assert "record GPS" in basis.why_not_projected


def test_gps_lost_at_the_end() -> None:
    """A charge read where GPS was lost is placed by the trip meter read with it, times its factor."""
    said = [row for km, *rest in DOWN[::5] for row in ((km, *rest), (km, "trip", f"{km * 1.02:.1f}", "km"))]
    basis = basis_of(seen(said, track=straight_track(350.0)))

    assert "gps" == basis.ruler
    assert pytest.approx(398.0, abs=0.5) == basis.marks[-1].km


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ([], "No charge was read off"),
        (DOWN[:1], "Only one charge"),
        (DOWN[:3], "fell by less than 3 points"),
    ],
)
def test_why_nothing_is_projected(said: list[tuple[float, str, str, str]], why: str) -> None:
    """Too little is said to be too little, of what."""
    basis = basis_of(seen(said, track=straight_track(420.0)))
    reach = basis.reach()

    assert isinstance(reach, Absent)
    assert why in reach.why


@pytest.mark.parametrize(
    ("said", "why"),
    [
        (DOWN[:50], "The charge was not read down to 0 %: the least was 51 %."),
        (DOWN[-1:], "Only 0 % was read off"),
        ([], "No charge was read off"),
    ],
)
def test_why_zero_is_not_known(said: list[tuple[float, str, str, str]], why: str) -> None:
    """0 % has to be read off, and a charge before it."""
    zero = basis_of(seen(said, track=straight_track(420.0))).zero

    assert isinstance(zero, Absent)
    assert why in zero.why


def test_a_stretch_begins_where_it_was_unplugged() -> None:
    """Distances count from there, and projections too."""
    said = [
        (10.0, "charge", "90", "%"),
        (50.0, "charge", "80", "%"),
        (60.0, "note", "unplugged"),
        *((60.0 + km, *rest) for km, *rest in charges(4.0, range(100, 40, -1))[1:]),
    ]
    basis = basis_of(seen(said, track=straight_track(420.0)))

    assert pytest.approx(60.0, abs=0.05) == basis.origin_km
    reach = basis.reach()
    assert isinstance(reach, Interval)
    assert pytest.approx(398.0, rel=0.01) == reach.value


def test_very_many_charges() -> None:
    """A charge called every some hundred metres: each has its projection, from those at which the display had changed."""
    said = [(km, "charge", str(round(100.0 - km / 4.0)), "%") for km in range(300)]
    basis = basis_of(seen(said, track=straight_track(420.0)))

    assert len(basis.marks) == 300 == len(basis.projected)
    assert basis.model is not None
    assert len(basis.model.km) <= MOST_READINGS + 2
    last = basis.projected[-1]
    assert last is not None
    assert pytest.approx(398.0, rel=0.01) == last.value


def test_a_reading_along_the_stretch() -> None:
    """Readings without a place have no distance by GPS."""
    drive = seen(DOWN, track=straight_track(420.0))
    basis = basis_of(drive)
    reading = drive.of("charge")[5]

    assert basis.km_of(reading) == basis.marks[5].km
    assert basis.km_of(replace(reading, gps_km=None)) is None


def test_a_trip_of_more_digits_than_numbers_have() -> None:
    """Said once, it keeps the rest from being projected, and nothing fails."""
    said = [row for km, *rest in DOWN[:60] for row in ((km, *rest), (km, "trip", f"{km:.1f}", "km"))]
    basis = basis_of(seen([*said, (240.0, "charge", "40", "%"), (240.0, "trip", "9" * 400, "km")]))

    assert "trip" == basis.ruler
    assert isinstance(basis.reach(), Absent)
