"""Small helpers of the sections: figures with an interval from a standard deviation. Pure."""

from __future__ import annotations

from logger.core.results.figures import Figure

Z95 = 1.96
"""Of a normal distribution, 95 % lie within so many standard deviations (NIST/SEMATECH e-Handbook, section 1.3.6.7.1; from memory)."""


def within(
    value: float,
    unit: str,
    sd: float,
    covers: str,
    *,
    lowest: float | None = None,
    estimate: bool = False,
    remark: str = "",
) -> Figure:
    """Return a figure with the 95 % interval of a normal distribution, cut off at `lowest`."""
    low, high = value - Z95 * sd, value + Z95 * sd
    if lowest is not None:
        value, low, high = (max(each, lowest) for each in (value, low, high))
    return Figure(value, unit, low, high, covers, estimate=estimate, remark=remark)
