"""Which words a recogniser prefers in one voice, by what a drive settled. Pure.

A voice that says "four" like "five" says so all day. Of a trip GPS tells which of the two it was; of an indicated speed or a predicted
range nothing does. So what the drive settled, whatever the recognisers preferred, teaches how far each word has to be
brought up or down, and that counts where nothing but the sound decides (formulas in docs/method.md).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from logger.model import Hypothesis

HABIT_SD = 1.5
"""What is known of a word's habit before a drive: its standard deviation, in natural logs."""
MISTAKEN = 1e-3
"""How often what was settled is none of the answers, or wrong: no single call may say more than that against a habit or a weight."""
_STEPS = 20
_PLACES = 2
_LEAST = 0.05
"""Habits are worked out in so many steps, rounded, and forgotten where they are less than that."""

Habits = tuple[tuple[str, float], ...]
"""Words, each with the natural log of how much more often it was said than it is heard; words that are not in it have 0."""


class Lesson(NamedTuple):
    """What one call teaches.

    Attributes:
        answers: of which there is one at least.
        logs: the natural log of how likely each is by its sound, up to what all share.
        fits: how well each fits the rest of the drive, the best one 1.
    """

    answers: Sequence[Hypothesis]
    logs: NDArray[np.float64]
    fits: NDArray[np.float64]


def by_habit(answers: Sequence[Hypothesis], habits: Habits) -> list[float]:
    """Return the natural log of how much likelier each answer is for a voice's habits, up to what all share."""
    of = dict(habits)
    return [sum([of[text] for word in answer.words if (text := word.text) in of], 0.0) for answer in answers]


def habits_of(lessons: Sequence[Lesson]) -> Habits:
    """Return the likeliest habits of a voice.

    They make the most of

        sum over calls of ln( m + (1 - m) * sum over answers a of P(a) f(a) ) - sum over words of b^2 / (2 sd^2)

    where P(a) goes by exp(log of a + sum over its words of b), and f(a) is how well it fits.

    Found by steps uphill: each is the slope over the curvature that there would be if nothing were known of what fits, which is
    the most it can be (Newton's method on a bound, as Boehning and Lindsay have it for such sums; Ann. Inst. Statist. Math. 40,
    1988; cited from memory).
    """
    if not lessons:
        return ()
    words, counts = _counted(lessons)
    sizes = [len(lesson.answers) for lesson in lessons]
    of_call = np.repeat(np.arange(len(lessons)), sizes)
    first = np.cumsum([0, *sizes[:-1]])
    counts -= np.minimum.reduceat(counts, first)[of_call]  # what all answers of a call share says nothing
    logs = np.concatenate([lesson.logs for lesson in lessons])
    fits = np.concatenate([lesson.fits for lesson in lessons])

    habit, known = np.zeros(len(words)), np.eye(len(words)) / HABIT_SD**2
    for _ in range(_STEPS):
        scores = logs + counts @ habit
        share = np.exp(scores - np.maximum.reduceat(scores, first)[of_call])
        share /= np.add.reduceat(share, first)[of_call]
        fitting = (1.0 - MISTAKEN) * share * fits
        fitting /= (MISTAKEN + np.add.reduceat(fitting, first))[of_call]
        pull = fitting - share * np.add.reduceat(fitting, first)[of_call]
        shared = share[:, None] * counts
        mean = np.add.reduceat(shared, first)
        spread = shared.T @ counts - mean.T @ mean
        habit += np.linalg.solve(spread + known, pull @ counts - known @ habit)
    found = zip(words, np.round(habit, _PLACES).tolist(), strict=True)
    return tuple([(word, each) for word, each in found if abs(each) >= _LEAST])


def _counted(lessons: Sequence[Lesson]) -> tuple[list[str], NDArray[np.float64]]:
    """Return the words of all answers, and how often each is in each answer, shape (answers, words)."""
    answers = [answer for lesson in lessons for answer in lesson.answers]
    words = sorted({word.text for answer in answers for word in answer.words})
    number = {word: index for index, word in enumerate(words)}
    counts = np.zeros((len(answers), len(words)))
    for row, answer in enumerate(answers):
        for word in answer.words:
            counts[row, number[word.text]] += 1.0
    return words, counts
