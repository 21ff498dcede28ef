"""How far the car drove, by three measures; worked out by hand on a straight road at one speed."""

from __future__ import annotations

import pytest
from read_drives import charges, seen, straight_track

from logger.core.results.basis import basis_of
from logger.core.results.figures import Absent, Answer, Figure
from logger.core.results.observed import Observed
from logger.core.results.range_driven import section

FACTOR = 1.02
DOWN = charges(4.0, range(100, -1, -1))


def with_meters(
    rows: list[tuple[float, str, str, str]], *, start: float = 0.0
) -> list[tuple[float, str, str, str]]:
    """Charges, with the trip meter and the odometer read at every fifth."""
    said = list(rows)
    for km, *_ in rows[::5]:
        said.append((km, "trip", f"{start + km * FACTOR:.1f}", "km"))
        said.append((km, "odometer", f"{int(20_000 + km * FACTOR)}", "km"))
    return said


def told(drive: Observed, key: str) -> Answer:
    """One line of the section."""
    return section(basis_of(drive)).answer(key)


def value(answer: Answer) -> float:
    """The value of a figure that must be there."""
    assert isinstance(answer, Figure), answer
    return answer.value


def test_by_three_measures() -> None:
    """0 % first appears after 99.5 points of 4 km; meters count 2 % more; 22 km are driven past it."""
    drive = seen(with_meters(DOWN), track=straight_track(420.0))

    for name, factor in (("gps", 1.0), ("trip", FACTOR), ("odometer", FACTOR)):
        zero, end, past = (told(drive, f"{key}_by_{name}") for key in ("zero", "end", "past_zero"))
        assert pytest.approx(398.0 * factor, rel=0.006) == value(zero)
        assert pytest.approx(420.0 * factor, rel=0.003) == value(end)
        assert pytest.approx(value(end) - value(zero)) == value(past)
        assert isinstance(zero, Figure)
        assert zero.low is not None
        assert zero.high is not None
        assert zero.low <= 398.0 * factor <= zero.high + 0.11


def test_the_bracket_is_said() -> None:
    """Between which readings 0 % came is told in words."""
    zero = told(seen(DOWN, track=straight_track(420.0)), "zero_by_gps")

    assert isinstance(zero, Figure)
    assert "(1 %)" in zero.remark
    assert "(0 %)" in zero.remark


def test_a_trip_that_was_not_reset() -> None:
    """What the trip meter showed at the start is taken off."""
    drive = seen(with_meters(DOWN, start=97.3), track=straight_track(420.0))

    assert pytest.approx(398.0 * FACTOR, rel=0.006) == value(told(drive, "zero_by_trip"))


def test_a_trip_reset_on_the_way() -> None:
    """Readings before and after are not added up: it is the GPS distance times the factor, marked as an estimate."""
    said = [
        *DOWN,
        *((km, "trip", f"{(km if km < 200 else km - 200) * FACTOR:.1f}", "km") for km in range(10, 390, 20)),
    ]
    zero = told(seen(said, track=straight_track(420.0)), "zero_by_trip")

    assert isinstance(zero, Figure)
    assert zero.estimate
    assert "reset on the way" in zero.remark
    assert pytest.approx(398.0 * FACTOR, rel=0.006) == zero.value


def test_zero_not_reached() -> None:
    """There is no range at 0 %, and the projected one stands instead."""
    drive = seen(DOWN[:70], track=straight_track(300.0))
    zero, full = told(drive, "zero_by_gps"), told(drive, "from_full")

    assert isinstance(zero, Absent)
    assert "the least was 31 %" in zero.why
    assert isinstance(full, Figure)
    assert full.estimate
    assert pytest.approx(398.0, rel=0.01) == full.value


def test_a_drive_that_began_below_full() -> None:
    """From 80 %: 79.5 points are driven, and 100 % is a projection from that, said to be one."""
    drive = seen(charges(4.0, range(80, -1, -1), first=80), track=straight_track(330.0))
    sections = section(basis_of(drive))
    full = sections.answer("from_full")

    assert pytest.approx(79.5 * 4.0, rel=0.006) == value(sections.answer("zero_by_gps"))
    assert isinstance(full, Figure)
    assert full.estimate
    assert "80 %" in full.remark
    assert pytest.approx(398.0, rel=0.01) == full.value
    assert any("began at 80 %" in remark for remark in sections.remarks)


def test_too_little_of_a_battery() -> None:
    """A drive from 30 % says nothing of a full battery."""
    drive = seen(charges(4.0, range(30, -1, -1), first=30), track=straight_track(130.0))

    assert isinstance(told(drive, "from_full"), Absent)


def test_an_odometer_on_the_sheet() -> None:
    """Read once, at the end, it gives the distance from what the sheet says it began with; a sheet that cannot be right does not."""
    said = [*DOWN, (419.0, "odometer", "20428", "km")]
    right = seen(said, track=straight_track(420.0), test={"odometer_km": 20000})
    wrong = seen(said, track=straight_track(420.0), test={"odometer_km": 19000})

    assert 428.0 == value(told(right, "end_by_odometer"))
    assert isinstance(told(wrong, "end_by_odometer"), Absent)


def test_gps_that_began_late() -> None:
    """What was driven before the first fix does not count, and that is said."""
    sections = section(basis_of(seen(DOWN, track=straight_track(420.0, from_km=20.0))))

    assert any("begins 12 min after" in remark for remark in sections.remarks)
