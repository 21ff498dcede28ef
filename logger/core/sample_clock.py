"""When the samples of a microphone were heard: counted samples, held to stamps on a clock. Pure.

A stamp on one block is off by milliseconds, while the card counts evenly. So the moment of sample 0 is the median, over
some seconds, of each stamp less the samples before it. A median forgets a late stamp, and over seconds the card's own
clock does not drift from ours by much (100 in a million, a poor one, is 1 ms in the middle of 20 s). When samples
were lost the count means another moment from there on, and it begins anew.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from statistics import median

_NANO = 1_000_000_000
_WINDOW_S = 20
_STEP_NS = 60_000_000
"""Stamps that differ by more than this from the count, and go on doing so, mean lost samples. Stamps of PulseAudio
through ALSA were within 12 ms of each other on an idle machine."""
_STEP_BLOCKS = 4


@dataclass(frozen=True, slots=True)
class Placed:
    """When a block began, and how many samples were lost since the one before it."""

    start_ns: int
    lost_samples: int


class SampleClock:
    """Places blocks that come one after the other.

    Args:
        rate_hz: how many samples a second has.
        block_samples: how many a block has, about; it decides how many blocks the window holds.
    """

    def __init__(self, rate_hz: int, block_samples: int) -> None:
        self._rate_hz = rate_hz
        self._zeros: deque[int] = deque(maxlen=max(_STEP_BLOCKS + 1, _WINDOW_S * rate_hz // block_samples))
        self._count = 0

    def place(self, samples: int, stamp_ns: int, *, broken: bool = False) -> Placed:
        """Place the next block.

        Args:
            samples: how many it has.
            stamp_ns: when its first one was heard, by a clock that is off by some milliseconds.
            broken: samples are known to be lost before it.
        """
        before = self._zero_ns()
        zero_ns = stamp_ns - self._ns(self._count)
        self._zeros.append(zero_ns)
        lost = 0
        if before is not None:
            newest = list(self._zeros)[-_STEP_BLOCKS:]
            ahead = [each - before for each in newest]
            stepped = len(ahead) == _STEP_BLOCKS and (min(ahead) > _STEP_NS or max(ahead) < -_STEP_NS)
            if broken or stepped:
                self._zeros.clear()
                self._zeros.extend([zero_ns] if broken else newest)
                lost = max(0, (self._zeros[-1] - before) * self._rate_hz // _NANO)
        now = self._zero_ns()
        assert now is not None
        start_ns = now + self._ns(self._count)
        self._count += samples
        return Placed(start_ns, lost)

    def _zero_ns(self) -> int | None:
        return round(median(self._zeros)) if self._zeros else None

    def _ns(self, samples: int) -> int:
        return samples * _NANO // self._rate_hz
