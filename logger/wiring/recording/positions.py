"""The receiver's thread, and what its reports come to: a track, the time, and a line where something is odd."""

from __future__ import annotations

import threading
from queue import SimpleQueue

import numpy as np

from logger.core.fixes import is_leap
from logger.core.geodesy import step_lengths_m
from logger.core.live_track import LiveTrack
from logger.core.time_bridge import TimeBridge
from logger.model import Fix, Issue, LiveFix, Reception, ReceptionChange
from logger.receivers.gpsd import Gpsd, GpsdAddress
from logger.store import DriveStore
from logger.wiring.recording.asked import News

_NANO = 1_000_000_000
_WORTH_TELLING_NS = 2_000_000_000
"""A clock of this machine that is off by less is no news: `odovox check` warns from here on too."""
_ODD_TIME_NS = -500_000_000


class Watching:
    """Watches gpsd in a thread of its own."""

    def __init__(self, address: GpsdAddress, inbox: SimpleQueue[News]) -> None:
        self._gpsd, self._inbox = Gpsd(address), inbox
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End, at the latest after some seconds."""
        self._stop.set()
        self._thread.join(5)

    def _watch(self) -> None:
        for event in self._gpsd.events(self._stop):
            self._inbox.put(event)


class Positions:
    """Takes what the receiver reports. It holds what is not stored yet.

    Args:
        where: gpsd's address, as the name of the track.
        bridge: learns the time from the fixes.
    """

    def __init__(self, where: str, bridge: TimeBridge) -> None:
        self.track = LiveTrack()
        self.bridge = bridge
        self.reception: Reception | None = None
        self._where = where
        self._waiting: list[Fix] = []
        self._track_id: int | None = None
        self._stored = 0
        self._newest: Fix | None = None
        self._stamped_by_clock = False

    def stamp(self, mono_ns: int) -> int:
        """Return what UTC was at a moment at which something was said."""
        self._stamped_by_clock |= not self.bridge.by_fixes
        return self.bridge.stamp(mono_ns)

    def take(self, live: LiveFix) -> tuple[Issue, ...]:
        """Take a fix; return what is odd about it."""
        issues = [*self._odd_step(live.fix), *self._odd_time(live)]
        self._newest = live.fix
        self._waiting.append(live.fix)
        self.track.add(live.fix)
        return tuple(issues)

    def change(self, change: ReceptionChange) -> Issue | None:
        """Take what is to be said of the receiver from now on; return it as an issue where the drive loses by it."""
        before, self.reception = self.reception, change.reception
        has_fix = {Reception.FIX_2D, Reception.FIX_3D}
        if change.reception in has_fix or (before is not None and before not in has_fix):
            return None
        return Issue(
            "live_no_position",
            f"no position from {_when(self.bridge, change.at_mono_ns)} on: {change.detail}",
        )

    def store(self, store: DriveStore) -> None:
        """Store what has come since the last time, in one transaction of its own (in another's, it could be undone unseen).

        Raises:
            StoreError: it cannot be written; it is kept for the next time.
        """
        if not self._waiting:
            return
        with store.atomic():
            track_id = self._track_id
            if track_id is None:
                key = f"live-{self._waiting[0].utc_ns}-{self.bridge.utc_ns(0)}"
                track_id = store.begin_track(f"gpsd at {self._where}", key)
            store.add_fixes(track_id, self._stored, self._waiting)
        self._track_id = track_id
        self._stored += len(self._waiting)
        self._waiting.clear()

    def _odd_step(self, fix: Fix) -> list[Issue]:
        before = self._newest
        if before is None:
            return []
        from logger.core.utc import format_utc

        step_ns = fix.utc_ns - before.utc_ns
        if step_ns < _ODD_TIME_NS:
            return [
                Issue(
                    "live_time_back",
                    f"the receiver's time went back by {-step_ns / _NANO:.0f} s, from {format_utc(before.utc_ns)} to "
                    f"{format_utc(fix.utc_ns)}; its positions are kept as they came",
                )
            ]
        ends = (np.array([before.lat_deg, fix.lat_deg]), np.array([before.lon_deg, fix.lon_deg]))
        length_m = step_lengths_m(*ends)
        if is_leap(np.array([step_ns / _NANO]), length_m)[0]:
            what = f"the receiver leapt {length_m[0] / 1000:.2f} km in {step_ns / _NANO:.0f} s at {format_utc(fix.utc_ns)}"
            return [Issue("live_leap", f"{what}; that way is not counted")]
        return []

    def _odd_time(self, live: LiveFix) -> list[Issue]:
        change = self.bridge.hear(live)
        if change is None or abs(change.step_ns) < _WORTH_TELLING_NS:
            return []
        step = f"{abs(change.step_ns) / _NANO:.1f} s {'later' if change.step_ns > 0 else 'earlier'}"
        if change.by_fixes:
            return [
                Issue(
                    "live_time_step",
                    f"the receiver's time jumped: it is {step} now; what was said before keeps its time",
                )
            ]
        before = "; what was said until now has the machine's time" if self._stamped_by_clock else ""
        return [
            Issue("live_clock_off", f"by the satellites it is {step} than by this machine's clock{before}")
        ]


def _when(bridge: TimeBridge, mono_ns: int) -> str:
    from logger.core.utc import format_utc

    return format_utc(bridge.utc_ns(mono_ns) // _NANO * _NANO)
