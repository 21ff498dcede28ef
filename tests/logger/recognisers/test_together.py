"""Two recognisers listening together."""

from __future__ import annotations

import numpy as np

from logger.model import HeardWord, Hypothesis, Samples
from logger.ports import Recogniser
from logger.recognisers.together import Together

SOUND = np.zeros(1600, np.int16)


class Fixed:
    """Answers the same to every sound, and counts how often it was asked."""

    def __init__(self, name: str, *answers: tuple[str, float]) -> None:
        self.name = name
        self.asked = 0
        self._answers = tuple(
            Hypothesis(rank, tuple(HeardWord(word, 0, 1) for word in f"checkpoint {text}".split()), score)
            for rank, (text, score) in enumerate(answers)
        )

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Return the fixed answers."""
        self.asked += len(samples) > 0
        return self._answers


def test_both_are_named() -> None:
    """What is kept beside each answer tells both models."""
    port: Recogniser = Together(Fixed("one"), Fixed("two"), 1.0, 1.0)

    assert "one with two" == port.name


def test_the_second_settles_a_close_call() -> None:
    """Where the first hardly tells two answers apart, the second does, as far as it weighs."""
    first = Fixed("one", ("fifteen", -1.0), ("fifty", -1.2))
    second = Fixed("two", ("fifty", 0.0), ("fifteen", -4.0))

    assert "checkpoint fifty" == Together(first, second, 0.35, 3.0).recognise(SOUND)[0].text
    assert "checkpoint fifteen" == Together(first, second, 0.01, 3.0).recognise(SOUND)[0].text


def test_without_a_call_the_second_is_not_asked() -> None:
    """The first decides whether there was a call."""
    second = Fixed("two", ("fifty", 0.0))

    assert () == Together(Fixed("one"), second, 1.0, 1.0).recognise(SOUND)
    assert 0 == second.asked


def test_a_call_that_only_one_hears_is_none() -> None:
    """The second hears nothing, or something else altogether: it was talk."""
    first = Fixed("one", ("fifteen", -1.5), ("fifty", -1.8))

    assert () == Together(first, Fixed("two"), 1.0, 1.0).recognise(SOUND)
    assert () == Together(first, Fixed("two", ("how far sixty miles left", 0.0)), 1.0, 1.0).recognise(SOUND)
