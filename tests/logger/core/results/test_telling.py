"""Intervals and cells."""

from __future__ import annotations

from decimal import Decimal

import pytest
import scipy.stats

from logger.core.results.telling import Z95, within
from logger.core.table import fixed


def test_the_interval_is_that_of_a_normal_distribution() -> None:
    """97.5 % lie below 1.96 (scipy)."""
    assert pytest.approx(scipy.stats.norm.ppf(0.975), abs=1e-4) == Z95
    figure = within(10.0, "m", 2.0, "noise", estimate=True)

    assert (pytest.approx(6.08), pytest.approx(13.92), True) == (figure.low, figure.high, figure.estimate)


def test_what_cannot_be_below_is_not() -> None:
    """Value and ends."""
    figure = within(-0.5, "m", 2.0, "noise", lowest=0.0)

    assert (0.0, 0.0, pytest.approx(3.42)) == (figure.value, figure.low, figure.high)


def test_cells_have_no_minus_nought() -> None:
    """As elsewhere in tables."""
    assert ("0.00", "-0.13") == (str(fixed(-0.001, 2)), str(fixed(-0.126, 2)))
    assert Decimal("1.5") == fixed(1.5, 1)
