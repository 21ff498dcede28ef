"""Several lists of answers to one stretch joined into one. Pure.

What several hear is nearly always right, and each hears what the others miss: their scores are added, each weighed. An
answer that a list lacks gets from it a little less than that list's last one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from operator import itemgetter, mul

from rapidfuzz.distance import Levenshtein

from grammar import number_words
from logger.model import Hypothesis

MOST_ANSWERS = 44
"""Room for all that two recognisers say: what only the lighter one hears may be the truth, and comes last."""


MOST_UNHEARD = 10.0
"""An answer that a list lacks is held to be at most so far below its best one: a long list that ends far down says no more
against it than a short one. Chosen on TUNING drives, with how far below its last answer (`choosing.UNHEARD`)."""

MOST_APART = 0.34
"""How far apart two lists may be and still have heard the same call: the share of words in which their nearest answers differ.

Of 990 calls of the TUNING drives at 10 and 5 dB in which both heard something none was further apart; of 44 stretches of the
TUNING talk with numbers and of noise that the call model took for calls, 43 were, or the other heard no call at all.
"""
SURE = -0.3
"""A best score from here on says that the first heard about the same at every pace. Then a second that hears something else, as
it does in much noise, does not unmake the call."""
SURE_ALONE = -0.5
"""The same where the second hears nothing. Of 191 TUNING calls in much noise 124 have the truth among the answers with the two (107
where only a long answer without any doubt stood alone). With -1 for both 138 would, but of 316 stretches of TUNING talk crammed
with numbers two would be taken for calls, and none is."""
_TALKED_BEFORE_NS = 1_200_000_000
"""A stretch begins 0.3 s before its first voice."""
_COMPARED = 10
_WORDS_ENOUGH = 5
"""Different ones, of an answer that stands alone: of fewer, wipers say "how far how far" and the like."""
_SHORT_WORDS = 4


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
        highest = max(known, default=0.0)
        return {answer.text: score - highest for answer, score in zip(self.answers, known, strict=True)}


def heard_the_same(first: Sequence[Hypothesis], second: Sequence[Hypothesis]) -> bool:
    """Whether two recognisers heard one call: if they agree in most words, there was one.

    Talk that one takes for a call, the other takes for none or for another one. Where the second heard something else,
    the first stands alone if it was sure; where it heard nothing, if its best answer is of several words besides, with a number
    among them: nothing is struck or noted on one's word alone. Where somebody had talked before the call without a
    pause, neither is enough, since "a quarter of a point to two percent" is none. Of a few words one misheard is
    too much of a difference: there it is enough that both open alike.
    """
    if not first:
        return False
    score = first[0].score or 0.0
    texts = [word.text for word in first[0].words]
    if not second:
        numbered = number_words(texts) != slice(0, 0)
        return (
            score >= SURE_ALONE and len(set(texts)) >= _WORDS_ENOUGH and numbered and not _runs_on(first[0])
        )
    if score >= SURE and not _runs_on(first[0]):
        return True
    if _both_short(first[0], second[0]):
        return first[0].words[0].text == second[0].words[0].text
    return any(_apart(one, other) <= MOST_APART for one in first[:_COMPARED] for other in second[:_COMPARED])


def _runs_on(answer: Hypothesis) -> bool:
    """Whether a call begins well within its stretch, so that something was said before it; False where that is not known."""
    start_ns = answer.words[0].start_ns if answer.words else None
    return start_ns is not None and start_ns > _TALKED_BEFORE_NS


def _both_short(one: Hypothesis, other: Hypothesis) -> bool:
    return all(0 < len(answer.words) <= _SHORT_WORDS for answer in (one, other))


def _apart(one: Hypothesis, other: Hypothesis) -> float:
    words = [[word.text for word in answer.words] for answer in (one, other)]
    return Levenshtein.normalized_distance(*words)


def fused(ears: Sequence[Ear]) -> tuple[Hypothesis, ...]:
    """Return the answers of all, each text once, the highest sum of weighed scores first.

    Words and their times are those of the first that has the answer. Ears that heard nothing have no say. What each
    ear scored is kept beside the sum, so that the weights can be chosen anew once more is known of who speaks.
    """
    scored = [ear.scores() for ear in ears]
    floors = [
        max(min(scores.values()) - ear.unheard, -MOST_UNHEARD) if scores else 0.0
        for scores, ear in zip(scored, ears, strict=True)
    ]
    owner = {answer.text: answer for ear in reversed(ears) for answer in ear.answers}
    apart = {
        text: tuple(scores.get(text, floor) for scores, floor in zip(scored, floors, strict=True))
        for text in owner
    }
    joined = [Hypothesis(0, owner[text].words, None, apart[text]) for text in owner]
    return weighed(joined, [ear.weight for ear in ears])[:MOST_ANSWERS]


def weighed(answers: Sequence[Hypothesis], weights: Sequence[float]) -> tuple[Hypothesis, ...]:
    """Return answers with the weighed sum of what each ear scored, ranked by it; of equal ones in the order given."""
    return ranked(answers, [sum(map(mul, weights, answer.ear_scores)) for answer in answers])


def ranked(answers: Iterable[Hypothesis], scores: Iterable[float]) -> tuple[Hypothesis, ...]:
    """Return answers with these scores, ranked by them; of equal ones in the order given."""
    scored = sorted(zip(scores, answers, strict=True), key=itemgetter(0), reverse=True)
    return tuple(
        [
            Hypothesis(rank, answer.words, score, answer.ear_scores)
            for rank, (score, answer) in enumerate(scored)
        ]
    )
