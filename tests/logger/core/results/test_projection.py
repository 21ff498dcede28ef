"""Projections at checkpoints. Outside: the rule of thumb of check-values.md section 10, common practice: 10 % used after 30 mi projects 300 mi."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from read_drives import charges, seen, straight_track

from logger.core.results.basis import basis_of
from logger.core.results.energy import by_usable
from logger.core.results.figures import Absent, Figure
from logger.core.results.planning import between_charges
from logger.core.results.projection import checkpoints, section
from logger.core.results.range_driven import from_full

MILE = 1.609344
DOWN = charges(4.0, range(100, -1, -1))


def test_the_rule_of_thumb() -> None:
    """10 % used after 30.0 mi projects 300 mi; 50 % used after 150 mi the same."""
    rows = [
        (0.0, "charge", "100", "%"),
        (30.0 * MILE, "charge", "90", "%"),
        (150.0 * MILE, "charge", "50", "%"),
    ]
    told = checkpoints(basis_of(seen(rows, track=straight_track(300.0))))

    assert [pytest.approx(300.0 * MILE, rel=1e-3)] * 2 == [each.rule_of_thumb_km for each in told]
    assert told[0].projected is not None
    # check-values.md section 10: one percent of rounding on 10 % used is about 5 to 10 % of range.
    assert 0.05 < (told[0].projected.high - told[0].projected.low) / 2.0 / (300.0 * MILE)


def test_a_straight_drive() -> None:
    """The projection nears the 398 km that 99.5 points of 4 km are; each interval holds it."""
    told = section(basis_of(seen(DOWN, track=straight_track(420.0))))

    for key, charge in (("at_three_quarters", 75.0), ("at_half", 50.0), ("at_quarter", 25.0), ("last", 1.0)):
        figure = told.answer(key)
        assert isinstance(figure, Figure)
        assert pytest.approx(398.0, rel=0.03) == figure.value
        assert figure.low is not None
        assert figure.high is not None
        assert figure.low <= 398.0 <= figure.high
        assert f"{charge:g} %" in figure.remark
    close = told.answer("close_from")
    assert isinstance(close, Figure)
    assert close.value >= 75.0
    within = told.answer("within_from")
    assert isinstance(within, Figure)
    assert within.value >= 50.0


def test_what_the_interval_does_not_cover() -> None:
    """By the trip meter alone, whatever it counts wrong is in every distance, and in the consumption; by GPS there is no such thing."""
    said = [row for km, *rest in DOWN[:95] for row in ((km, *rest), (km, "trip", f"{km:.1f}", "km"))]
    for track, named in ((None, True), (straight_track(420.0), False)):
        basis = basis_of(replace(seen(said, track=track), test={"usable_kwh": 60}))
        for answer in (
            section(basis).answer("at_half"),
            from_full(basis),
            between_charges(basis),
            by_usable(basis),
        ):
            assert isinstance(answer, Figure)
            assert named == answer.covers.endswith("; not what the trip meter counts wrong")


@pytest.mark.parametrize(
    ("grade", "told"),
    [
        (0.001, "about 200 m higher than the first"),
        (-0.0007, "about 140 m lower than the first"),
        (0.0004, None),
    ],
)
def test_the_last_charge_was_read_off_high_up(grade: float, told: str | None) -> None:
    """A climb or descent of 100 m or more over the drive is named; not where 0 % was reached, nor where nobody knows heights."""
    track = straight_track(420.0)
    rng = np.random.default_rng(6)
    altitude = 300.0 + grade * track.distance_m + rng.normal(0.0, 3.0, len(track.distance_m))
    climbing = replace(track, altitude_m=altitude)
    named = [
        each for each in section(basis_of(seen(DOWN[:51], track=climbing))).remarks if "the first" in each
    ]

    assert ([] if told is None else [True]) == [str(told) in each for each in named]
    for said, way in ((DOWN, climbing), (DOWN[:51], track)):
        assert not any("than the first" in each for each in section(basis_of(seen(said, track=way))).remarks)


def test_the_table() -> None:
    """A row for each charge after the first until the last above 0; too little used leaves cells empty."""
    table = section(basis_of(seen(DOWN, track=straight_track(420.0)))).tables[0]

    assert 99 == len(table.rows)
    assert [None, None] == list(table.column("projected_km")[:2])
    assert Decimal("1.0") == table.column("charge_pct")[-1]
    assert all(len(row) == len(table.columns) for row in table.rows)


def test_a_drive_that_came_closer_late() -> None:
    """A drive that used twice as much in its first half is close to its end only late."""
    rows = [(2.0 * (100 - each), "charge", str(each), "%") for each in range(100, 50, -2)]
    rows += [(100.0 + 6.0 * (50 - each), "charge", str(each), "%") for each in range(50, -1, -2)]
    told = section(basis_of(seen(rows, track=straight_track(420.0))))
    close = told.answer("close_from")

    assert isinstance(close, Figure)
    assert close.value < 40.0


def test_one_checkpoint_and_none() -> None:
    """Nothing to project from says so; a drive that ended early has no projection at half."""
    for rows, key, why in (
        (DOWN[:1], "last", "Only one charge"),
        ([], "at_half", "No charge was read off"),
        (DOWN[:30], "at_half", "No charge was read off from 50 % down to 45 %"),
    ):
        told = section(basis_of(seen(rows, track=straight_track(420.0)))).answer(key)
        assert isinstance(told, Absent)
        assert why in told.why
