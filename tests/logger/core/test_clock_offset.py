"""This machine's clock beside GPS time."""

from __future__ import annotations

import pytest

from logger.core.clock_offset import clock_offset
from logger.model import Fix, LiveFix


def arrived(utc_ns: int, later_ns: int) -> LiveFix:
    """A fix that came some time after its instant, by the machine's clock."""
    return LiveFix(Fix(utc_ns, 52.2, 1.7), 3, None, None, None, 0, utc_ns + later_ns)


def test_mean_and_spread() -> None:
    """Arrivals 0.1, 0.2 and 0.3 s late: mean 0.2, standard deviation 0.1."""
    offset = clock_offset([arrived(second * 10**9, late * 10**8) for second, late in enumerate((1, 2, 3))])

    assert offset is not None
    assert (pytest.approx(0.2), pytest.approx(0.1), 3) == (offset.mean_s, offset.spread_s, offset.count)


def test_a_clock_behind_is_negative() -> None:
    """One fix has no spread; a clock an hour slow is behind by an hour, to the nanosecond's worth of a float."""
    offset = clock_offset([arrived(1_777_800_000 * 10**9, -3600 * 10**9)])

    assert offset is not None
    assert (-3600.0, 0.0, 1) == (offset.mean_s, offset.spread_s, offset.count)


def test_no_fixes_tell_nothing() -> None:
    """None, and not zero."""
    assert clock_offset([]) is None
