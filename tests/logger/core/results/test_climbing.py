"""Climb by hand, and what must always hold of it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.core.results.climbing import climbed


@pytest.mark.parametrize(
    ("heights", "up", "down"),
    [
        ([0], 0, 0),
        ([0, 4, 0, 4, 1], 0, 0),  # never 5 from the last turn
        ([0, 5], 5, 0),
        ([0, 10, 6, 20], 20, 0),  # the dip of 4 is level
        ([0, 10, 5, 20], 25, 5),  # the dip of 5 is none
        ([20, 3, 3, 9, 8, 0], 6, 26),
        ([2, 0, 4, 10, 9, 12], 12, 0),  # begins at the lowest
        ([0, 3, -3, 7], 10, 6),  # 3 to -3 is a fall of 6
    ],
)
def test_by_hand(heights: list[float], up: float, down: float) -> None:
    """A dead band of 5 m."""
    assert (up, down) == climbed(np.array(heights, dtype=np.float64), 5.0)


profiles = st.lists(st.floats(-500.0, 500.0), min_size=1, max_size=40).map(np.array)


@given(profiles, st.floats(0.5, 100.0))
def test_the_difference_is_that_of_the_ends(heights: np.ndarray, band_m: float) -> None:
    """Within a dead band at either end; backwards, climb is descent."""
    up, down = climbed(heights, band_m)
    back_up, back_down = climbed(heights[::-1], band_m)

    assert abs((up - down) - (heights[-1] - heights[0])) <= 2.0 * band_m + 1e-9
    assert abs(up - back_down) <= 2.0 * band_m + 1e-9
    assert abs(down - back_up) <= 2.0 * band_m + 1e-9


@given(profiles, st.floats(0.5, 50.0), st.floats(0.0, 50.0))
def test_a_wider_band_counts_no_more(heights: np.ndarray, band_m: float, wider_m: float) -> None:
    """And none counts more than every step up."""
    every = float(np.clip(np.diff(heights), 0.0, None).sum())

    assert climbed(heights, band_m + wider_m)[0] <= climbed(heights, band_m)[0] + 1e-9 <= every + 2e-9
