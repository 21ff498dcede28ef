"""Several lists of answers to one stretch joined into one. Pure.

What several hear is nearly always right, and each hears what the others miss: their scores are added, each weighed. An
answer that a list lacks gets from it a little less than that list's last one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logger.model import Hypothesis

MOST_ANSWERS = 44
"""Room for all that two recognisers say: what only the lighter one hears may be the truth, and comes last."""


@dataclass(frozen=True, slots=True)
class Ear:
    """One list of answers and how much it counts.

    Attributes:
        answers: best first.
        weight: what its scores (natural logs, less its best one) are multiplied by.
        unheard: how far below its last answer it is held to put one that it lacks.
    """

    answers: Sequence[Hypothesis]
    weight: float
    unheard: float

    def scores(self) -> dict[str, float]:
        """Return the score of each text beside the best one; by rank where there are none."""
        known = [answer.score for answer in self.answers if answer.score is not None]
        if len(known) < len(self.answers):
            return {answer.text: -float(answer.rank) for answer in self.answers}
        highest = max(known)
        return {answer.text: score - highest for answer, score in zip(self.answers, known, strict=True)}


def fused(ears: Sequence[Ear]) -> tuple[Hypothesis, ...]:
    """Return the answers of all, each text once, the highest sum of weighed scores first.

    Words and their times are those of the first that has the answer. Ears that heard nothing have no say.
    """
    heard = [ear for ear in ears if ear.answers]
    scored = [ear.scores() for ear in heard]
    floors = [min(scores.values()) - ear.unheard for scores, ear in zip(scored, heard, strict=True)]
    owner = {answer.text: answer for ear in reversed(heard) for answer in ear.answers}
    total = {
        text: sum(
            ear.weight * scores.get(text, floor)
            for ear, scores, floor in zip(heard, scored, floors, strict=True)
        )
        for text in owner
    }
    ordered = sorted(owner, key=lambda text: -total[text])[:MOST_ANSWERS]
    return tuple(Hypothesis(rank, owner[text].words, total[text]) for rank, text in enumerate(ordered))
