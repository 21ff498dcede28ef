"""Times as people read them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from logger.core.times import elapsed_text, time_of_day_text


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
