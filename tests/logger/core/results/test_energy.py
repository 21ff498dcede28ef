"""Efficiency as shown and by usable energy.

Outside: check-values.md section 10, a worked drive of common practice (no standard): 3.6 mi/kWh shown, 80 kWh usable, 262 mi driven:
288 mi would be expected, 9 % (of 262: 9.9 %) more than was reached. Units: section 1, NIST SP 811 and 33.705 kWh to the US gallon.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from read_drives import charges, seen, straight_track

from logger.core.results.basis import basis_of
from logger.core.results.energy import UNITS_TOLD, in_words, section
from logger.core.results.figures import Absent, Figure
from logger.core.results.observed import Observed

MILE = 1.609344
REACHED_KM = 262.0 * MILE


def worked_drive(**test: float) -> Observed:
    """The worked drive: 262 miles from 100 % to 0 %, 3.6 mi/kWh shown at the end."""
    rows = charges(REACHED_KM / 99.5, range(100, -1, -1))
    rows.append((REACHED_KM, "efficiency", "3.6", "mi/kWh"))
    rows.append((REACHED_KM * 0.02, "trip", f"{262.0 * 0.02:.1f}", "mi"))
    return seen(rows, track=straight_track(REACHED_KM + 3.0), test=test)


def test_the_worked_drive() -> None:
    """The dash shows less consumption than the distance on 80 kWh bears out: 262 mi where 288 were to be had."""
    told = section(basis_of(worked_drive(usable_kwh=80.0)))
    by_usable, off = told.answer("by_usable"), told.answer("disagreement")
    shown_last, usable = told.answer("shown_last"), told.answer("usable_by_shown")

    assert isinstance(by_usable, Figure)
    assert pytest.approx(80_000.0 / REACHED_KM, rel=0.006) == by_usable.value
    assert isinstance(shown_last, Figure)
    assert pytest.approx(1000.0 / (3.6 * MILE)) == shown_last.value
    assert isinstance(off, Figure)
    assert pytest.approx((262.0 / 288.0 - 1.0) * 100.0, abs=0.5) == off.value
    assert "less consumption" in off.remark
    assert isinstance(usable, Figure)
    assert pytest.approx(262.0 / 3.6, rel=0.006) == usable.value


def test_every_usual_unit() -> None:
    """3.275 mi/kWh by usable energy (262 / 80, of 99.5 points), in the seven units."""
    table = section(basis_of(worked_drive(usable_kwh=80.0))).tables[0]
    told = dict(zip(table.column("unit"), table.column("value"), strict=True))
    mi_per_kwh = 262.0 / 80.0 * 100.0 / 99.5
    expected = {
        "mi/kWh": mi_per_kwh,
        "km/kWh": mi_per_kwh * MILE,
        "kWh/100km": 100.0 / (mi_per_kwh * MILE),
        "kWh/100mi": 100.0 / mi_per_kwh,
        "Wh/mi": 1000.0 / mi_per_kwh,
        "Wh/km": 1000.0 / (mi_per_kwh * MILE),
        "MPGe": 33.705 * mi_per_kwh,
    }

    assert set(UNITS_TOLD) == set(told)
    for unit, value in expected.items():
        cell = told[unit]
        assert isinstance(cell, Decimal)
        assert pytest.approx(value, rel=0.006) == float(cell)


def test_without_usable_energy() -> None:
    """It says what to write, and energy per distance is as the dash showed it."""
    told = section(basis_of(worked_drive()))
    by_usable = told.answer("by_usable")

    assert isinstance(by_usable, Absent)
    assert "usable_kwh" in by_usable.why
    assert Decimal("3.600") == told.tables[0].column("value")[0]
    assert any("as the dash last showed it" in remark for remark in told.remarks)


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        ([(100.0, "efficiency", "3.6", "mi/kWh")], "after 100.0 km of"),
        (
            [(390.0, "efficiency", "3.6", "mi/kWh"), (20.0, "trip", "20", "km"), (200.0, "trip", "5", "km")],
            "was reset on the way",
        ),
        (
            [
                (390.0, "efficiency", "3.6", "mi/kWh"),
                *((float(km), "trip", str(80 + km), "km") for km in (1, 50, 100, 200)),
            ],
            "stood at 80",
        ),
    ],
)
def test_an_average_over_another_way(rows: list[tuple[float, str, str, str]], why: str) -> None:
    """An average read early, after a reset, or over more than the drive is not compared with the whole drive's."""
    drive = seen(
        [*charges(4.0, range(100, -1, -1)), *rows], track=straight_track(400.0), test={"usable_kwh": 60}
    )
    off = section(basis_of(drive)).answer("disagreement")

    assert isinstance(off, Absent)
    assert why in off.why


def test_energy_used() -> None:
    """Two readings of the energy used: 20 kWh over 100 km are 200 Wh/km."""
    rows = [(100.0, "energy_used", "15.0", "kWh"), (200.0, "energy_used", "35.0", "kWh")]
    told = section(basis_of(seen(rows, track=straight_track(300.0))))
    by_shown, used = told.answer("by_energy_used"), told.answer("energy_used")

    assert isinstance(by_shown, Figure)
    assert pytest.approx(200.0, rel=1e-3) == by_shown.value
    assert isinstance(used, Figure)
    assert 35.0 == used.value


@pytest.mark.parametrize(("percent", "word"), [(0.4, "agree"), (-9.0, "less"), (5.0, "more")])
def test_in_words(percent: float, word: str) -> None:
    """Agreement, less and more are said as such."""
    assert word in in_words(percent)
