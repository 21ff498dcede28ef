"""Whether the machine slept meanwhile, as it does when its lid is closed: by the clock that goes on then and the one that does not."""

from __future__ import annotations

import time

_WORTH_S = 2.0


class Sleep:
    """Begins to watch when it is made; a system that has no such clock never sleeps."""

    def __init__(self) -> None:
        self._before_s = _slept_s()

    def slept_s(self) -> float:
        """Return how long the machine has slept since this was asked last; 0 where that is less than two seconds."""
        now_s = _slept_s()
        slept_s = now_s - self._before_s
        if slept_s < _WORTH_S:
            return 0.0
        self._before_s = now_s
        return slept_s


def _slept_s() -> float:
    """Return how long the machine has slept since it was started."""
    clock = getattr(time, "CLOCK_BOOTTIME", None)  # Linux has it
    return 0.0 if clock is None else time.clock_gettime(clock) - time.clock_gettime(time.CLOCK_MONOTONIC)
