"""Times as people read them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from logger.core.times import elapsed_text, parse_elapsed_ns, time_of_day_text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0:00:00"),
        (Decimal("59.6"), "0:01:00"),
        (3725.2, "1:02:05"),
        (36_000, "10:00:00"),
        (-61, "-0:01:01"),
        (-0.4, "0:00:00"),
    ],
)
def test_elapsed_time(seconds: float | Decimal, text: str) -> None:
    """Whole seconds; no minus sign on nothing."""
    assert text == elapsed_text(seconds)


def test_time_of_day() -> None:
    """Midnight and the last minute."""
    assert ("00:00", "23:59") == (time_of_day_text(Decimal(0)), time_of_day_text(Decimal(1439)))


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("1:02:05", 3725), ("02:05", 125), ("1:02:05.5", 3725.5), (" 0:00:00 ", 0), ("100:00:00", 360_000)],
)
def test_a_time_of_the_drive(text: str, seconds: float) -> None:
    """Hours may be left out, a fraction may follow."""
    assert round(seconds * 1e9) == parse_elapsed_ns(text)


@pytest.mark.parametrize("text", ["", "5", "1:60:00", "0:00:60", "1:2:3", "-0:00:01", "soon", "\u0661:02:05"])
def test_what_is_no_time_of_the_drive(text: str) -> None:
    """It is told how one is written."""
    with pytest.raises(ValueError, match="written like 1:02:05"):
        parse_elapsed_ns(text)
