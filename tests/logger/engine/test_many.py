"""How figures are spread over many drives, against numpy's own quantiles."""

from __future__ import annotations

import numpy as np
import pytest
from compared import summary

from logger.core.comparing.rows import comparison_table, main_columns
from logger.core.comparing.whole import compared
from logger.engine.many import QUANTILES, bands, spread_of


def test_quantiles_are_numpys() -> None:
    """Of a column where some know nothing: how many do, and the quantiles of those (numpy's linear ones)."""
    values = [390.0, 402.0, 377.5, 420.0, 411.0]
    drives = compared([*((f"d{k}", summary(each)) for k, each in enumerate(values)), ("none", summary(None))])
    grid = spread_of(comparison_table(drives, "km"), main_columns("km"))
    rows = {row[0]: row[1:] for row in grid.rows}

    assert ("5", *(f"{np.quantile(values, share):.1f}" for share in QUANTILES)) == rows["range_projected_km"]
    assert ("6", *["110.0"] * 5) == rows["speed_kmh"]
    assert [name for name in main_columns("km") if name in rows] == list(rows)
    assert "range_at_zero_km" not in rows


def test_bands_are_numpys() -> None:
    """At each place, over those that reach it."""
    rng = np.random.default_rng(5)
    near, far = rng.normal(50.0, 9.0, 40), rng.normal(20.0, 9.0, 7)
    found = bands({"place": [*[1.0] * 40, *[2.0] * 7], "value": [*near.tolist(), *far.tolist()]})

    for (place, count, *quantiles), values in zip(found, (near, far), strict=True):
        assert len(values) == count
        assert pytest.approx(np.quantile(values, QUANTILES).tolist()) == quantiles
        assert place in {1.0, 2.0}


def test_nothing_gives_nothing() -> None:
    """No points, no bands."""
    assert () == bands({"place": [], "value": []})
