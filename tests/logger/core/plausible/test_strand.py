"""Steps between readings, as arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from strands_made import strand

from logger.core.plausible.strand import REACH, Steps, steps_between, steps_of


def laid(steps: Steps, name: str) -> NDArray[np.float64]:
    """What steps hold, each in its place; NaN where there is none."""
    return steps.laid_out(getattr(steps, name).astype(np.float64), np.nan)


def test_which_steps_there_are() -> None:
    """Back over at most REACH readings, none before the first, none from or to a value that there is not."""
    there = np.isfinite(laid(steps_of(strand("charge", [80, [79, 78], 77])), "km"))

    assert (3, REACH, 2, 2) == there.shape
    assert [0, 2, 3] == there.sum(axis=(1, 2, 3)).tolist()


def test_what_a_step_holds() -> None:
    """Values at both ends, the way, the time, and the variance that rounding to whole percents leaves: twice 0.5^2 / 3."""
    steps = steps_of(strand("charge", [80, 79, 76], km=[0.0, 5.0, 12.0], at_h=[0.0, 0.1, 0.25]))
    held = [laid(steps, name)[2, 1, 0, 0] for name in ("earlier", "later", "km", "hours")]

    assert [80.0, 76.0, 12.0, 0.25] == held
    assert np.isclose(2.0 * 0.25 / 3.0, laid(steps, "rounding")[2, 1, 0, 0])


def test_charging_and_resets_between() -> None:
    """A note counts for the steps over it, a car that stood at the charger for those from there."""
    made = strand("trip", [80, 5, 12], km=[80.0, 85.0, 92.0], resets=[0, 1, 1], reset_km=[np.nan, 81.0, 81.0])
    since = laid(steps_of(made), "since_reset_km")[:, :, 0, 0]
    assert [4.0, 11.0] == [since[1, 0], since[2, 1]]
    assert np.isnan(since[2, 0])

    made = strand("charge", [30, 50, 49], charged=[1, 1, 2], at_charger=[True, False, False])
    charged = laid(steps_of(made), "charged")[:, :, 0, 0]
    assert [1.0, 1.0] == [charged[1, 0], charged[2, 0]]
    assert not steps_of(strand("charge", [30, 50, 49])).charged.any()


def test_a_way_never_runs_backwards() -> None:
    """Distances and times that fall count as none."""
    steps = steps_of(strand("charge", [30, 29], km=[5.0, 4.0], at_h=[1.0, 0.5]))

    assert ([0.0], [0.0]) == (steps.km.tolist(), steps.hours.tolist())


def test_steps_between_any_readings() -> None:
    """Each pair by itself, and some of them alone."""
    made = strand("charge", [80, [79, 78], 77], km=[0.0, 5.0, 12.0])
    steps = steps_between(made, np.array([0, 0]), np.array([2, 1]))

    assert (2, 2, 2) == steps.shape
    assert [77.0, 79.0, 78.0] == steps.later.tolist()
    assert [12.0] == steps.only(steps.km > 5.0).km.tolist()


def test_steps_go_round_values_that_are_no_number() -> None:
    """As where 0 kWh/100km is among the options: nothing leads to it, from it, or out of its place."""
    made = strand("charge", [80, [79, np.nan, 78], 77])
    steps = steps_between(made, np.array([0, 1]), np.array([1, 2]))

    assert [(0, 0, 0), (0, 0, 2), (1, 0, 0), (1, 2, 0)] == list(
        zip(*(axis.tolist() for axis in steps.at), strict=True)
    )
    assert [(80.0, 79.0), (80.0, 78.0), (79.0, 77.0), (78.0, 77.0)] == list(
        zip(steps.earlier.tolist(), steps.later.tolist(), strict=True)
    )
