"""Strands written by hand, for tests of what is likely."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from logger.core.plausible.strand import Strand

Values = Sequence[float | Sequence[float]]


def strand(
    quantity: str,
    values: Values,
    *,
    half_step: float = 0.5,
    places: int = 0,
    km: Sequence[float] | None = None,
    at_h: Sequence[float] | None = None,
    unseen_h: Sequence[float] | None = None,
    gps_kmh: Sequence[float] | None = None,
    pace_kmh: Sequence[float] | None = None,
    charged: Sequence[float] | None = None,
    at_charger: Sequence[bool] | None = None,
    resets: Sequence[float] | None = None,
    reset_km: Sequence[float] | None = None,
    ahead_min: Values | None = None,
) -> Strand:
    """Return a strand; by default a reading every 5 km and 3 minutes, seen by GPS, without notes; several values are options."""
    rows = [list(each) if isinstance(each, Sequence) else [each] for each in values]
    count, width = len(rows), max(len(row) for row in rows)
    base = np.full((count, width), np.nan)
    for number, row in enumerate(rows):
        base[number, : len(row)] = row
    there = np.isfinite(base)
    order = np.arange(count, dtype=np.float64)

    def given(array: Sequence[float] | None, otherwise: np.ndarray) -> np.ndarray:
        return otherwise if array is None else np.array(array, dtype=np.float64)

    ahead = np.full((count, width), np.nan)
    if ahead_min is not None:
        for number, row in enumerate(ahead_min):
            ahead[number] = row
    return Strand(
        quantity=quantity,
        at_h=given(at_h, order * 0.05),
        base=base,
        half_step=np.where(there, half_step, np.nan),
        places=np.where(there, float(places), np.nan),
        log_weight=np.where(there, 0.0, -np.inf),
        log_none=np.full(count, -7.0),
        km=given(km, order * 5.0),
        unseen_h=given(unseen_h, np.zeros(count)),
        gps_kmh=given(gps_kmh, np.full(count, 100.0)),
        pace_kmh=given(pace_kmh, np.full(count, np.nan)),
        charged=given(charged, np.zeros(count)),
        at_charger=np.zeros(count, dtype=np.bool_) if at_charger is None else np.array(at_charger),
        resets=given(resets, np.zeros(count)),
        reset_km=given(reset_km, np.full(count, np.nan)),
        ahead_min=ahead,
    )
