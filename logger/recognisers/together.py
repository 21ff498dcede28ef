"""Two recognisers that listen to the same sound, their answers joined."""

from __future__ import annotations

from logger.core.fusing import Ear, fused, heard_the_same
from logger.model import Hypothesis, Samples
from logger.ports import Recogniser


class Together:
    """Where both hear the same call, both say what it was; otherwise there was none.

    Args:
        first: the recogniser that tells calls from talk better.
        second: another one of the same language.
        weight: what the second's scores count beside the first's.
        unheard: how far below its last answer each is held to put one that it lacks, in natural log.
    """

    def __init__(self, first: Recogniser, second: Recogniser, weight: float, unheard: float) -> None:
        self._first, self._second = first, second
        self._weight, self._unheard = weight, unheard

    @property
    def name(self) -> str:
        """Both names."""
        return f"{self._first.name} with {self._second.name}"

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Return the joined answers, best first; none when the first hears no call, or the second quite another one."""
        return self.confirmed(samples, self._first.recognise(samples))

    def confirmed(self, samples: Samples, answers: tuple[Hypothesis, ...]) -> tuple[Hypothesis, ...]:
        """Return the same, given what the first answers."""
        if not answers:
            return ()
        others = self._second.recognise(samples)
        if not heard_the_same(answers, others):
            return ()
        return fused((Ear(answers, 1.0, self._unheard), Ear(others, self._weight, self._unheard)))
