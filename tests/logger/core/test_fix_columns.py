"""Fixes as columns."""

from __future__ import annotations

import numpy as np

from logger.core.fix_columns import FARTHEST_NS, FixColumns
from logger.model import Fix


def test_what_is_not_there_is_nan() -> None:
    """Absent altitudes, speeds and hdops are NaN, never zero; times keep every nanosecond."""
    columns = FixColumns.of([Fix(1_935_558_000_123_456_789, 1.0, 2.0), Fix(5, 3.0, 4.0, 0.0, 6.0, 0.9)])

    assert 2 == len(columns)
    assert [1_935_558_000_123_456_789, 5] == columns.utc_ns.tolist()
    for column, given in ((columns.altitude_m, 0.0), (columns.speed_mps, 6.0), (columns.hdop, 0.9)):
        assert np.isnan(column[0])
        assert given == column[1]


def test_times_that_cannot_be_are_held_at_the_limit() -> None:
    """A time too far away for the arithmetic is as far as can be, and so left out by `usable`."""
    columns = FixColumns.of([Fix(2**80, 1.0, 2.0), Fix(-(2**80), 1.0, 2.0)])

    assert [FARTHEST_NS, -FARTHEST_NS] == columns.utc_ns.tolist()


def test_taken_keeps_rows_together() -> None:
    """Some fixes, in another order, each with all of its own."""
    fixes = [Fix(k, float(k), k + 0.5, k + 1.0, k + 2.0, k + 3.0) for k in range(5)]
    some = FixColumns.of(fixes).taken(np.array([3, 1]))

    assert [[3, 1], [3.0, 1.0], [3.5, 1.5], [4.0, 2.0], [5.0, 3.0], [6.0, 4.0]] == [
        column.tolist()
        for column in (some.utc_ns, some.lat_deg, some.lon_deg, some.altitude_m, some.speed_mps, some.hdop)
    ]
    assert 0 == len(FixColumns.of([]))
