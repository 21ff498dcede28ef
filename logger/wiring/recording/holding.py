"""Calls that the store refused, held until it takes them, in bounded memory."""

from __future__ import annotations

from collections import deque
from dataclasses import replace

import numpy as np

from logger.model import RATE_HZ
from logger.wiring.recording.asked import Heard
from logger.wiring.recording.keeping import MOST_HELD_S

MOST_CALLS = 1000
"""Hours of calls, in some 30 MB: what was heard weighs little beside its sound."""


class Held:
    """What was heard, in the order spoken: the newest calls, and the sound of the newest ten minutes of them."""

    def __init__(self) -> None:
        self._heard: deque[Heard] = deque()
        self._with_sound = 0
        """How many of the newest still have their sound."""
        self._samples = 0
        self.lost_calls = self.lost_sounds = 0
        """What was let go of, to stay in bounds, since `missing` was asked."""

    def __bool__(self) -> bool:
        return bool(self._heard)

    def add(self, heard: Heard) -> None:
        """Hold one more. The sound of what is no call is not kept in any case."""
        if not heard.what.hypotheses:
            heard = _without_sound(heard)
        self._heard.append(heard)
        self._with_sound += 1
        self._samples += _samples(heard)
        while self._samples > MOST_HELD_S * RATE_HZ:
            at = len(self._heard) - self._with_sound
            oldest = self._heard[at]
            self._samples -= _samples(oldest)
            self._with_sound -= 1
            self.lost_sounds += not oldest.without_sound
            self._heard[at] = _without_sound(oldest)
        if len(self._heard) > MOST_CALLS:
            self.lost_calls += bool(self._heard[0].what.hypotheses)
            self.take_first()

    def first(self) -> Heard:
        """Return the oldest."""
        return self._heard[0]

    def take_first(self) -> None:
        """Hold the oldest no longer."""
        taken = self._heard.popleft()
        self._samples -= _samples(taken)
        self._with_sound = min(self._with_sound, len(self._heard))

    def missing(self) -> str:
        """Return in words what was let go of, and begin to count anew."""
        lost = [f"{self.lost_calls} of the oldest calls"] if self.lost_calls else []
        lost += [f"the sound of {self.lost_sounds} others"] if self.lost_sounds else []
        self.lost_calls = self.lost_sounds = 0
        return f"missing: {' and '.join(lost)}" if lost else "nothing that was heard is missing"


def _without_sound(heard: Heard) -> Heard:
    """Return the same with a sound of the same length that takes no memory."""
    what = heard.what
    nothing = np.broadcast_to(np.zeros(1, np.int16), len(what.cut.samples))
    cut = replace(what.cut, samples=nothing, gap=None, wider=None)
    return replace(heard, what=replace(what, cut=cut), without_sound=True)


def _samples(heard: Heard) -> int:
    return 0 if heard.without_sound else len(heard.what.cut.samples)
