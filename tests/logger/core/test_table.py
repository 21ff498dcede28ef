"""Tables hold cells, and numbers are told without exponents."""

from __future__ import annotations

from decimal import Decimal

import pytest

from logger.core.table import Column, Kind, Table, plain


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (Decimal("63.0"), "63.0"),
        (Decimal("1E+3"), "1000"),
        (Decimal("1E-9"), "0.000000001"),
        (Decimal(-4), "-4"),
        (7, "7"),
    ],
)
def test_plain_numbers(number: Decimal | int, text: str) -> None:
    """Digits as said, never an exponent."""
    assert text == plain(number)


def test_a_column_by_name() -> None:
    """The cells of a column come by its name, and an unknown name is a KeyError."""
    table = Table(
        "log", (Column("a", Kind.TEXT, "", ""), Column("b", Kind.TEXT, "", "")), (("1", "2"), ("3", None))
    )

    assert ("2", None) == table.column("b")
    with pytest.raises(KeyError):
        table.column("c")
