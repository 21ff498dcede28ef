"""Efficiency and predicted range beside charge and distance."""

from __future__ import annotations

import numpy as np
import pytest

from logger.core.beside_charge import BESIDE_CHARGE, Believed, odds_beside_charge

KM = np.arange(0.0, 200.0, 10.0)
CHARGE = Believed(KM, 90.0 - 0.3 * KM)
"""0.3 % a km."""
EFFICIENCY = Believed(KM[3:], np.full(17, 6.0))
RANGE = Believed(KM, (90.0 - 0.3 * KM) * 3.2)


@pytest.mark.parametrize(("quantity", "believed"), [("efficiency", EFFICIENCY), ("range_left", RANGE)])
def test_what_the_battery_allows(quantity: str, believed: Believed) -> None:
    """The drive's own ratio costs nothing; half of it is held against a value, at most by a factor of a hundred."""
    right = believed.value[-2]
    odds = odds_beside_charge(
        quantity, believed.km[-2:-1], np.array([[right, 0.5 * right]]), believed, CHARGE
    )

    assert pytest.approx(0.0, abs=0.01) == odds[0, 0]
    assert pytest.approx(-4.6, abs=0.01) == odds[0, 1]
    assert quantity in BESIDE_CHARGE


def test_three_standard_deviations() -> None:
    """By hand: the least spread is 0.05 in logs, so e^0.15 off costs 3^2 / 2 = 4.5."""
    off = 6.0 * np.exp(0.15)
    odds = odds_beside_charge("efficiency", KM[10:11], np.array([[off]]), EFFICIENCY, CHARGE)

    assert pytest.approx(-4.5, abs=0.01) == odds[0, 0]


def test_a_few_misheard_ones_do_not_move_it() -> None:
    """A median is not moved by three of seventeen."""
    value = EFFICIENCY.value.copy()
    value[[2, 7, 11]] = 1.2
    odds = odds_beside_charge(
        "efficiency", KM[10:11], np.array([[6.0]]), Believed(EFFICIENCY.km, value), CHARGE
    )

    assert pytest.approx(0.0, abs=0.01) == odds[0, 0]


@pytest.mark.parametrize(
    ("believed", "charge"),
    [
        (Believed(KM[:3], np.full(3, 6.0)), CHARGE),
        (EFFICIENCY, Believed(KM[:1], CHARGE.value[:1])),
        (EFFICIENCY, Believed(KM, np.where(KM > 100.0, CHARGE.value + 30.0, CHARGE.value))),
        (EFFICIENCY, Believed(np.zeros(0), np.zeros(0))),
        (Believed(KM[3:], np.zeros(17)), CHARGE),
    ],
)
def test_where_charge_says_nothing(believed: Believed, charge: Believed) -> None:
    """Too few readings, charging on the way, no efficiency at all."""
    odds = odds_beside_charge("efficiency", KM[10:11], np.array([[6.0, np.nan, 0.0]]), believed, charge)

    assert [[0.0, 0.0, 0.0]] == odds.tolist()
