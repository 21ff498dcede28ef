"""How far the charge goes and whether to turn round, on a live drive: asked for, and once unasked when the time comes."""

from __future__ import annotations

import time

from logger.core.how_far import Asked, Reach, how_far
from logger.core.live import LiveReconciler
from logger.core.turning import Watch
from logger.core.units import Distances
from logger.core.way import Way
from logger.model import Drive
from logger.wiring.recording.positions import Positions

_LOOK_S = 3.0
"""Advice comes at the second look that says so: within 6 s, or 200 m at 110 km/h."""


class Turning:
    """Asks the figures.

    Args:
        drive: when it began.
        way: the way back to the start, None where the sheet has none; then nothing is told unasked.
        distances: what answers are given in.
        live: what was called out.
        positions: where the car was, and what time it is.
    """

    def __init__(
        self, drive: Drive, way: Way | None, distances: Distances, live: LiveReconciler, positions: Positions
    ) -> None:
        self._asked = Asked(drive, distances, way)
        self._live, self._positions = live, positions
        self._watch = Watch()
        self._looked_s = 0.0

    def asked(self) -> Reach:
        """Return the answer to "how far"."""
        reach = self._reach()
        if reach.advice is not None:
            self._watch.told(reach.advice)
        return reach

    def unasked(self) -> Reach | None:
        """Return advice whose time has come, once; None as a rule. May be called as often as one likes."""
        now_s = time.monotonic()
        if self._asked.way is None or now_s - self._looked_s < _LOOK_S:
            return None
        self._looked_s = now_s
        reach = self._reach()
        return reach if self._watch.look(reach.advice) else None

    def _reach(self) -> Reach:
        track, now_utc_ns = self._positions.track, self._positions.bridge.utc_ns(time.monotonic_ns())
        return how_far(self._live.charge_course, track.at, track.whole(), now_utc_ns, self._asked)
