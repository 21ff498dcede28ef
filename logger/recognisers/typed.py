"""A recogniser that is told what was said: for tests, for demonstrations without sound, for replays."""

from __future__ import annotations

from collections.abc import Iterable

from logger.model import RATE_HZ, HeardWord, Hypothesis, Samples


class TypedRecogniser:
    """Answers each stretch with the next of its prepared answers, and with nothing when they have run out.

    An answer is one line of words, or several lines: an n-best list, best first. Words are spread evenly
    over the stretch.
    """

    def __init__(self, answers: Iterable[str | tuple[str, ...]]) -> None:
        self._answers = iter(answers)

    @property
    def name(self) -> str:
        """Say that nothing was really heard."""
        return "typed"

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Return the next prepared answer, whatever the sound."""
        answer = next(self._answers, ())
        lines = (answer,) if isinstance(answer, str) else answer
        length_ns = len(samples) * 1_000_000_000 // RATE_HZ
        return tuple(
            Hypothesis(rank, _spread(line.split(), length_ns), -float(rank))
            for rank, line in enumerate(lines)
        )


def _spread(words: list[str], length_ns: int) -> tuple[HeardWord, ...]:
    return tuple(
        HeardWord(word, length_ns * index // len(words), length_ns * (index + 1) // len(words))
        for index, word in enumerate(words)
    )
