"""From this machine's monotonic clock to the time of the satellites. Pure.

Sound and fixes are stamped on the monotonic clock, which nobody sets. Each fix tells what UTC was when it came, less the
delay of the report; the median of the last minute of them is the bridge. Until fixes come, the wall clock as it was
read once, at the start, stands in for them: setting it later moves nothing.

A receiver's time may jump (a week's rollover, a leap second learned late, a second receiver). A jump counts when it has
lasted for some fixes, and only from then on: what was stamped stays. It never turns the drive's time back behind what
was said already, or calls would change their order; until time has caught up, the old bridge stands.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from statistics import median

from logger.model import LiveFix

_WINDOW = 60
_ENOUGH = 3
"""The first fixes after a start may be a second off; three that agree are believed."""
_LASTING = 8
_STEP_NS = 500_000_000
"""Reports of one receiver scatter by less; a leap second is more."""


@dataclass(frozen=True, slots=True)
class BridgeChange:
    """From now on time is told otherwise: by `step_ns` more than before; `by_fixes` says whether it was by fixes before."""

    step_ns: int
    by_fixes: bool


class TimeBridge:
    """Tells UTC of moments on the monotonic clock.

    Args:
        mono_ns, utc_ns: both clocks of this machine, read together.
        delay_ns: how long after its instant a report of the receiver comes, as far as that is known.
    """

    def __init__(self, mono_ns: int, utc_ns: int, *, delay_ns: int = 0) -> None:
        self._offset_ns = utc_ns - mono_ns
        self._delay_ns = delay_ns
        self._recent: deque[int] = deque(maxlen=_WINDOW)
        self._odd: deque[int] = deque(maxlen=_LASTING)
        self._not_before_utc_ns: int | None = None
        self.by_fixes = False
        """Whether fixes tell the time; else it is this machine's clock."""

    def utc_ns(self, mono_ns: int) -> int:
        """Return what UTC was at a moment."""
        return mono_ns + self._offset_ns

    def stamp(self, mono_ns: int) -> int:
        """Return what UTC was at a moment, as the time of something said, behind which time never turns back."""
        utc_ns = self.utc_ns(mono_ns)
        self._not_before_utc_ns = max(utc_ns, self._not_before_utc_ns or utc_ns)
        return utc_ns

    def hear(self, fix: LiveFix) -> BridgeChange | None:
        """Take a fix; return how time is told otherwise from now on, if it is."""
        told_ns = fix.fix.utc_ns + self._delay_ns - fix.arrived_mono_ns
        if self.by_fixes and abs(told_ns - self._offset_ns) <= _STEP_NS:
            self._odd.clear()
            self._recent.append(told_ns)
            self._offset_ns = self._held(round(median(self._recent)), fix.arrived_mono_ns)
            return None
        self._odd.append(told_ns)
        wanted = _LASTING if self.by_fixes else _ENOUGH
        newest = list(self._odd)[-wanted:]
        if len(newest) < wanted or max(newest) - min(newest) > _STEP_NS:
            return None
        offset_ns = round(median(newest))
        if self._held(offset_ns, fix.arrived_mono_ns) != offset_ns:
            return None  # time would turn back behind something said
        change = BridgeChange(offset_ns - self._offset_ns, self.by_fixes)
        self._offset_ns, self.by_fixes = offset_ns, True
        self._recent.clear()
        self._recent.extend(newest)
        self._odd.clear()
        return change

    def _held(self, offset_ns: int, mono_ns: int) -> int:
        """Return an offset, or the one in force where the new one would turn time back behind what was said."""
        said = self._not_before_utc_ns
        if said is not None and mono_ns + offset_ns < said:
            return self._offset_ns
        return offset_ns
