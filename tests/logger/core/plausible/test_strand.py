"""Steps between readings, as arrays."""

from __future__ import annotations

import numpy as np
from strands_made import strand

from logger.core.plausible.strand import REACH, steps_of


def test_which_steps_there_are() -> None:
    """Back over at most REACH readings, and none before the first."""
    there = steps_of(strand("charge", [80, 79, 78])).there[:, :, 0, 0]

    assert [0, 1, 2] == there.sum(axis=1).tolist()
    assert (3, REACH) == there.shape


def test_what_a_step_holds() -> None:
    """Values at both ends, the way, the time, and the variance that rounding to whole percents leaves: twice 0.5^2 / 3."""
    steps = steps_of(strand("charge", [80, 79, 76], km=[0.0, 5.0, 12.0], at_h=[0.0, 0.1, 0.25]))

    assert (80.0, 76.0) == (steps.earlier[2, 1, 0, 0], steps.later[2, 0, 0, 0])
    assert (12.0, 0.25) == (steps.km[2, 1, 0, 0], steps.hours[2, 1, 0, 0])
    assert np.isclose(2.0 * 0.25 / 3.0, steps.rounding[2, 1, 0, 0])


def test_charging_and_resets_between() -> None:
    """A note counts for the steps over it, a car that stood at the charger for those from there."""
    made = strand("trip", [80, 5, 12], km=[80.0, 85.0, 92.0], resets=[0, 1, 1], reset_km=[np.nan, 81.0, 81.0])
    steps = steps_of(made)
    assert [4.0, 11.0] == [steps.since_reset_km[1, 0, 0, 0], steps.since_reset_km[2, 1, 0, 0]]
    assert np.isnan(steps.since_reset_km[2, 0, 0, 0])

    steps = steps_of(strand("charge", [30, 50, 49], charged=[1, 1, 2], at_charger=[True, False, False]))
    assert [True, True] == [bool(steps.charged[1, 0, 0, 0]), bool(steps.charged[2, 0, 0, 0])]
    steps = steps_of(strand("charge", [30, 50, 49]))
    assert not steps.charged.any()


def test_a_way_never_runs_backwards() -> None:
    """Distances and times that fall count as none."""
    steps = steps_of(strand("charge", [30, 29], km=[5.0, 4.0], at_h=[1.0, 0.5]))

    assert (0.0, 0.0) == (steps.km[1, 0, 0, 0], steps.hours[1, 0, 0, 0])
