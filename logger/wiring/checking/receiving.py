"""gpsd, watched in the background while the rest is looked at."""

from __future__ import annotations

import threading
import time
from types import TracebackType
from typing import Self

from logger.core.fitness.reception import Received
from logger.model import LiveFix, Reception, ReceptionChange
from logger.receivers.gpsd import Gpsd, GpsdAddress

_ENOUGH_FIXES = 5
_HOPELESS_S = 3.0
_LONGEST_S = 8.0
"""A receiver that reports once a second is known by then; one that needs longer has no fix yet."""


class Watching:
    """Watches gpsd from the moment it is entered."""

    def __init__(self, address: GpsdAddress) -> None:
        self._gpsd = Gpsd(address)
        self._fixes: list[LiveFix] = []
        self._last: ReceptionChange | None = None
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)
        self._began_s = time.monotonic()

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stop.set()
        self._thread.join(5)

    def wait(self) -> Received:
        """Wait until it is known how things are, at most 8 s from the beginning, and return what was received."""
        while not self._known():
            time.sleep(0.05)
        last = self._last
        return Received(
            str(self._gpsd.address),
            self._gpsd.release,
            self._gpsd.devices,
            None if last is None else last.reception,
            "" if last is None else last.detail,
            tuple(self._fixes),
            self._gpsd.malformed,
        )

    def _known(self) -> bool:
        spent_s = time.monotonic() - self._began_s
        if len(self._fixes) >= _ENOUGH_FIXES or spent_s >= _LONGEST_S:
            return True
        hopeless = {Reception.UNREACHABLE, Reception.NO_DEVICE}
        return spent_s >= _HOPELESS_S and self._last is not None and self._last.reception in hopeless

    def _watch(self) -> None:
        for event in self._gpsd.events(self._stop):
            if isinstance(event, LiveFix):
                self._fixes.append(event)
            else:
                self._last = event
