"""What charge and distance make of efficiency and of predicted range: a car's battery is one for the whole drive. Pure.

An efficiency shown is the way over the energy used, and a percent of charge is always about the same energy; a predicted
range is about in proportion to the charge. By which ratio, each drive says itself: the median over its believed readings. What is off
that by more than the drive's own spread becomes less likely; nothing becomes likelier, since the quantity's own
neighbours have said that already.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logger.core.plausible.strand import Floats

BESIDE_CHARGE = ("efficiency", "range_left")
"""The quantities that charge says something of."""

_ENOUGH = 5
_LEAST_USED_PCT = 5.0
_LEAST_LEFT_PCT = 3.0
_LEAST_SD = 0.05
_WIDER = 1.5
"""The median absolute deviation of a few readings is often too small."""
_FROM_MAD = 1.4826
_MOST_AGAINST = 4.6
"""No more than a hundredth: a dash may count its average from elsewhere."""


@dataclass(frozen=True, slots=True)
class Believed:
    """Readings that are believed, in order of time: the way until then and the value, each of shape (k,)."""

    km: Floats
    value: Floats


def odds_beside_charge(
    quantity: str, km: Floats, base: Floats, believed: Believed, charge: Believed
) -> Floats:
    """Return the log odds of each value of a quantity by charge and distance: at most 0, shape (n, m).

    Args:
        quantity: one of `BESIDE_CHARGE`.
        km: the way until each reading, shape (n,).
        base: its options, shape (n, m).
        believed: those of its readings that are believed.
        charge: the charge readings that are believed.
    """
    nothing = np.zeros_like(base)
    if len(charge.km) < 2 or len(believed.km) < _ENOUGH:
        return nothing
    by_charge = _by_charge(quantity, believed.km, charge)
    there = np.isfinite(by_charge) & (believed.value > 0.0)
    if np.count_nonzero(there) < _ENOUGH:
        return nothing
    ratios = np.log(believed.value[there] / by_charge[there])
    middle = float(np.median(ratios))
    spread = max(_LEAST_SD, _WIDER * _FROM_MAD * float(np.median(np.abs(ratios - middle))))
    expected = np.log(_by_charge(quantity, km, charge))[:, None] + middle
    with np.errstate(invalid="ignore", divide="ignore"):
        off = (np.log(base) - expected) / spread
    odds: Floats = np.where(np.isfinite(off), -np.minimum(_MOST_AGAINST, 0.5 * off**2), 0.0)
    return odds


def _by_charge(quantity: str, km: Floats, charge: Believed) -> Floats:
    """Return what the quantity is in proportion to, NaN where charge does not say."""
    left = np.interp(km, charge.km, charge.value, left=np.nan, right=np.nan)
    if quantity == "range_left":
        return np.where(left >= _LEAST_LEFT_PCT, left, np.nan)
    if np.any(np.diff(charge.value) > 0.0):  # charged on the way: nobody knows what the dash counts from
        return np.full_like(km, np.nan)
    used = charge.value[0] - left
    return np.where(used >= _LEAST_USED_PCT, (km - charge.km[0]) / np.maximum(used, 1e-9), np.nan)
