"""Shares of counts and how far they can be trusted."""

from __future__ import annotations

import math

_Z = 1.96
"""Of a normal distribution, 95 % lie within so many standard deviations."""


def interval(part: int, whole: int) -> tuple[float, float]:
    """Return the Wilson 95 % interval of a share; `whole` is not 0."""
    share = part / whole
    middle = share + _Z * _Z / (2 * whole)
    spread = _Z * math.sqrt(share * (1 - share) / whole + _Z * _Z / (4 * whole * whole))
    low, high = (middle - spread) / (1 + _Z * _Z / whole), (middle + spread) / (1 + _Z * _Z / whole)
    return max(0.0, low), min(1.0, high)


def with_interval(part: int, whole: int, places: int = 0) -> str:
    """Return a share in per cent with its interval, which has so many decimals."""
    low, high = interval(part, whole)
    return f"{100 * part / whole:5.1f} ({100 * low:.{places}f}-{100 * high:.{places}f})"
