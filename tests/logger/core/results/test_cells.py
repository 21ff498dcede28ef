"""Figures as cells of a table."""

from __future__ import annotations

from decimal import Decimal

import pytest

from logger.core.results.cells import measure, number, text
from logger.core.table import Kind


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        (1.25, Decimal("1.2")),
        (-0.01, Decimal("0.0")),
        (None, None),
        (float("nan"), None),
        (float("inf"), None),
        (3.0, Decimal("3.0")),
    ],
)
def test_numbers(value: float | None, cell: Decimal | None) -> None:
    """A number has its decimals, never a minus before zero; what is no number is an empty cell."""
    assert cell == number(value, 1)
    assert str(cell) == str(number(value, 1))


def test_columns() -> None:
    """Columns say their unit and meaning."""
    assert ("km", Kind.NUMBER) == (measure("a", "km", "A.").unit, measure("a", "km", "A.").kind)
    assert Kind.TEXT is text("b", "B.").kind
