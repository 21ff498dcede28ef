"""How far this machine's clock is from GPS time, by the fixes that came. Pure."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from logger.model import LiveFix


@dataclass(frozen=True, slots=True)
class ClockOffset:
    """This machine's clock when fixes arrived, less their own time: positive where it is ahead.

    It holds the delay of the reports too, tens to hundreds of milliseconds with real receivers.
    """

    mean_s: float
    spread_s: float
    """Standard deviation; 0 for one fix."""
    count: int


def clock_offset(fixes: Sequence[LiveFix]) -> ClockOffset | None:
    """Return the offset that some fixes tell; None without any."""
    if not fixes:
        return None
    ahead_s = [(each.arrived_utc_ns - each.fix.utc_ns) / 1e9 for each in fixes]
    return ClockOffset(
        statistics.fmean(ahead_s), statistics.stdev(ahead_s) if len(ahead_s) > 1 else 0.0, len(ahead_s)
    )
