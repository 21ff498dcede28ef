"""What the adapters must offer. Each protocol has a shipped twin that needs no device (see `recognisers.typed`)."""

from __future__ import annotations

from typing import Protocol

from logger.model import Hypothesis, Samples


class Recogniser(Protocol):
    """Turns sound into words, best answer first. It never raises for what was said, only for a broken model."""

    @property
    def name(self) -> str:
        """Which recogniser and model this is, as kept beside each answer."""
        ...

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Return the answers for one stretch, best first; empty when no call was heard in it."""
        ...
