"""Standing still adds no distance; moving loses none."""

from __future__ import annotations

import numpy as np
import pytest

from logger.core.standing import without_wander


def test_wander_while_standing_is_none() -> None:
    """A metre of slow wander for ten minutes adds less than its own size."""
    seconds = np.arange(600.0)
    lengths = without_wander(seconds, np.sin(seconds / 20.0), np.cos(seconds / 33.0), 0.3)

    assert float(lengths.sum()) < 1.0


def test_an_approach_counts_up_to_the_spot() -> None:
    """Driving 200 m at 5 m/s, standing a minute and driving 200 m on comes to 400 m."""
    seconds = np.arange(141.0)
    along = np.interp(seconds, [0.0, 40.0, 100.0, 140.0], [0.0, 200.0, 200.0, 400.0])
    lengths = without_wander(seconds, along, np.zeros_like(along), 0.3)

    assert pytest.approx(400.0, abs=0.5) == float(lengths.sum())
    assert pytest.approx(0.0, abs=1e-9) == float(lengths[46:94].sum())


def test_creeping_in_a_queue_is_kept() -> None:
    """A quarter of a metre a second for ten minutes is too slow to see at once, but its 150 m are counted."""
    seconds = np.arange(600.0)
    lengths = without_wander(seconds, 0.25 * seconds, np.zeros_like(seconds), 0.3)

    assert pytest.approx(150.0, abs=3.0) == float(lengths.sum())


def test_driving_is_left_alone() -> None:
    """Steps of a moving car come back as they are."""
    seconds = np.arange(60.0)
    lengths = without_wander(seconds, 13.0 * seconds, 2.0 * seconds, 1.0)

    np.testing.assert_allclose(np.full(59, np.hypot(13.0, 2.0)), lengths)
