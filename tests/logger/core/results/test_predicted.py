"""The dash's own estimate against what was reached; worked out by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest
from read_drives import charges, seen, straight_track

from logger.core.results.basis import basis_of
from logger.core.results.figures import Absent, Figure
from logger.core.results.predicted import promises, section

DOWN = charges(4.0, range(100, -1, -1))


def test_a_dash_that_promises_too_much() -> None:
    """438 km promised at the start where 398 were reached: 10 % too much; and ever less of it."""
    rows = [(float(km), "range_left", str(round(438.0 - km * 1.1)), "km") for km in range(0, 400, 50)]
    told = section(basis_of(seen([*DOWN, *rows], track=straight_track(420.0))))
    start, mean, worst, trend = (
        told.answer(key) for key in ("off_at_start", "off_mean", "off_worst", "trend")
    )

    assert isinstance(start, Figure)
    assert pytest.approx(10.05, abs=0.6) == start.value
    assert isinstance(mean, Figure)
    assert mean.value < start.value
    assert isinstance(worst, Figure)
    assert pytest.approx(start.value) == worst.value
    assert isinstance(trend, Figure)
    assert pytest.approx(-10.0, abs=0.5) == trend.value
    assert "10 % more than was reached" in told.remarks[0]
    assert "fell by 8 %" in told.remarks[1]
    off_km, off_pct = (told.tables[0].column(name)[0] for name in ("off_km", "off_pct"))
    assert pytest.approx(40.0, abs=2.0) == float(str(off_km))
    assert pytest.approx(10.05, abs=0.6) == float(str(off_pct))


def test_an_honest_dash() -> None:
    """Driven plus left is always what was reached: steady, and off by nothing."""
    rows = [(float(km), "range_left", str(398 - km), "km") for km in range(0, 400, 50)]
    told = section(basis_of(seen([*DOWN, *rows], track=straight_track(420.0))))
    mean = told.answer("off_mean")

    assert isinstance(mean, Figure)
    assert abs(mean.value) < 0.6
    assert "about the same" in told.remarks[1]
    assert Decimal("398.0") == told.tables[0].column("in_all_km")[0]


def test_a_promise_that_may_well_come_true() -> None:
    """What is projected is known too little to say that the dash promised more or less."""
    rows = [(float(km), "range_left", str(400 - km), "km") for km in range(0, 40, 10)]
    told = section(basis_of(seen([*DOWN[:20], *rows], track=straight_track(420.0))))

    assert told.remarks[0] == "At the start the dash promised about what is projected."


def test_a_dash_without_a_trend() -> None:
    """Promises that go up and down by more than a line tells have no trend."""
    rows = [
        (50.0 * n, "range_left", str(each - 50 * n), "km") for n, each in enumerate((400, 440, 390, 435, 450))
    ]
    told = section(basis_of(seen([*DOWN, *rows], track=straight_track(420.0))))

    assert "no clear trend" in told.remarks[1]


def test_first_read_late() -> None:
    """A prediction first read after a quarter of the way is none at the start."""
    rows = [(100.0, "range_left", "300", "km")]
    told = section(basis_of(seen([*DOWN, *rows], track=straight_track(420.0))))

    for key in ("at_start", "off_at_start"):
        answer = told.answer(key)
        assert isinstance(answer, Absent)
        assert "100.0 km" in answer.why
    assert isinstance(told.answer("off_mean"), Figure)


def test_only_until_zero() -> None:
    """What the dash says after 0 % is shown promises nothing."""
    rows = [(100.0, "range_left", "300", "km"), (410.0, "range_left", "0", "km")]

    assert 1 == len(promises(basis_of(seen([*DOWN, *rows], track=straight_track(420.0)))))


def test_the_rating() -> None:
    """398 km reached of 500 rated are 20 % less."""
    drive = seen(DOWN, track=straight_track(420.0), test={"rated_range_km": 500})
    told = section(basis_of(drive)).answer("against_rating")

    assert isinstance(told, Figure)
    assert pytest.approx(-20.4, abs=0.4) == told.value


@pytest.mark.parametrize("with_track", [True, False])
def test_nothing_read(with_track: bool) -> None:  # noqa: FBT001
    """Not read off, or read where the distance is not known."""
    rows = [] if with_track else [(5.0, "range_left", "300", "km")]
    told = section(basis_of(seen(rows, track=straight_track(9.0) if with_track else None))).answer("off_mean")

    assert isinstance(told, Absent)
    assert ("not read off" if with_track else "not known") in told.why
