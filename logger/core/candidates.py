"""A recogniser's whole list of answers -> what the call may have been, and for each reading in it what it may be. Pure.

Every answer is parsed strictly; one with several meanings shares its weight among them, and equal meanings of
several answers are one candidate whose weight is the sum. Answers outside the language that the recogniser preferred
to the first one within it keep their weight: it is the chance that this was no call. Those after it have none, since
who speaks the language said nothing outside it.

The answers' meanings differ in their make-up (which quantities, in which order) and in their values. The first
answer of the likeliest make-up is the frame that the others are laid beside (`slots`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import attrgetter

from grammar import Language, Meaning, Reading
from logger.core.calibration import Calibration, calibration_of
from logger.core.parts import MadeOf, MakeUp, NumberedParts, Told, digits
from logger.core.placing import spoken_at_ns
from logger.core.slots import Candidate, Slot, slots_of
from logger.model import Hypothesis, Recognition, Utterance

ANOTHER_READING = 0.02
"""How likely a meaning of some words is beside one with a reading less. "Odometer twelve thousand three hundred
kilometers" is hardly ever an odometer of twelve thousand and a trip of three hundred, said without a breath."""

SAID_TWICE = 0.01
"""How likely it is that one breath tells a quantity twice."""

ANOTHER_DIGIT = 0.05
"""How likely a meaning of some words is beside one with a digit less: "thirty eight fifty seven" is 3857, and hardly ever
30857, which people say with "thousand" or digit by digit."""

LEAST_ANSWER = 3e-4
"""Answers less likely than that are not looked at: there may be dozens, and of 1,125 truths listed in calls of the TUNING drives
the least likely had 8e-4."""

_SOME_WEIGHT = 1e-4
"""A make-up that no candidate at least that likely has is not thought about."""

_MOST_FIT = 100.0
_SMALLEST = 1e-12


@dataclass(frozen=True, slots=True)
class Call:
    """What one utterance may have said; `slots` is empty when no answer has a meaning.

    Attributes:
        best: the first answer that has words.
        found: every meaning it may have, in the order of the answers, if its make-up is in doubt; else nothing, since
            there are dozens and the slots hold all that is asked of them.
    """

    utterance: Utterance
    at_ns: int
    best: Hypothesis
    slots: tuple[Slot, ...]
    found: tuple[Candidate, ...] = ()

    @property
    def heard(self) -> str:
        """The words of the first answer."""
        return self.best.text


Weighed = Sequence[tuple[Hypothesis, float]]
"""Answers, likeliest first, each with how likely it is."""


def weights(hypotheses: Sequence[Hypothesis], calibration: Calibration) -> tuple[float, ...]:
    """Return how likely each answer is: shares that add up to 1 less what is likely to be in no answer.

    With a finite score for each they go by exp(score / temperature); otherwise the ranks stand in for scores (each
    answer e times as likely as the next).
    """
    scores = [answer.score for answer in hypotheses if answer.score is not None]
    if len(scores) < len(hypotheses) or not all(math.isfinite(score) for score in scores):
        scores = [-calibration.temperature * answer.rank for answer in hypotheses]
    return chances(scores, calibration)


def chances(scores: Sequence[float], calibration: Calibration) -> tuple[float, ...]:
    """Return how likely answers with these scores are, all of them finite: shares that add up to 1 less what is in no answer."""
    if not scores:
        return ()
    highest = max(scores)
    shares = [math.exp((score - highest) / calibration.temperature) for score in scores]
    total = sum(shares) / (1.0 - calibration.unlisted)
    return tuple([share / total for share in shares])


def as_measured(recognition: Recognition) -> Weighed:
    """Return answers by what their recogniser's scores are worth on voices in general."""
    ordered = sorted(recognition.hypotheses, key=attrgetter("rank"))
    return tuple(zip(ordered, weights(ordered, calibration_of(recognition.recogniser)), strict=True))


def candidates(
    weighed: Weighed, language: Language, parts: NumberedParts | None = None
) -> tuple[Candidate, ...]:
    """Return every meaning of every answer once, in the order of the answers; their weights add up to at most 1.

    Answers less likely than `LEAST_ANSWER` are not looked at.

    Args:
        weighed: the answers.
        language: what may be said.
        parts: the numbers that parts have in all calls of a drive; without them the call has its own.
    """
    answers: list[tuple[Hypothesis, float, tuple[Meaning, ...]]] = []
    outside = 0.0
    understood = False
    for answer, chance in weighed:
        if chance < LEAST_ANSWER:
            continue
        meanings = language.meanings(tuple([word.text for word in answer.words]))
        if meanings or not understood:
            answers.append((answer, chance, meanings))
            understood = understood or bool(meanings)
        else:
            outside += chance
    kept = 1.0 + outside / max(sum([chance for _, chance, _ in answers]), _SMALLEST)
    if parts is None:
        parts = NumberedParts()
    found: dict[Told, tuple[Meaning, Hypothesis, MakeUp]] = {}
    sums: dict[Told, float] = {}
    total = 0.0
    for answer, chance, meanings in answers:
        weight = chance * kept
        if meanings:
            total += weight
        each_told = [parts.told(meaning) for meaning in meanings]
        each_made = [parts.made_of(told) for told in each_told]
        shares = _shares(meanings, each_made)
        for told, meaning, (made_of, _), share in zip(each_told, meanings, each_made, shares, strict=True):
            if told in found:
                sums[told] += weight * share
            else:
                found[told] = meaning, answer, made_of
                sums[told] = weight * share
    # Stretched alike, so that they add up to what their answers weighed.
    now = sum(sums.values())
    return tuple(
        [
            Candidate(meaning, answer, weight * total / now if now else weight, made_of, told)
            for (told, (meaning, answer, made_of)), weight in zip(found.items(), sums.values(), strict=True)
        ]
    )


def _shares(meanings: Sequence[Meaning], each_made: Sequence[MadeOf]) -> list[float]:
    """Return how likely each meaning of one phrase is beside the others; by itself less where it tells a quantity twice."""
    twice = [SAID_TWICE**again if again else 1.0 for _, again in each_made]
    if len(each_made) < 2:
        return twice
    fewest = min([len(made_of) for made_of, _ in each_made])
    written = [digits(meaning) for meaning in meanings]
    shortest: dict[MakeUp, int] = {}
    for (made_of, _), count in zip(each_made, written, strict=True):
        shortest[made_of] = min(count, shortest.get(made_of, count))
    shares = [
        ANOTHER_READING ** (len(made_of) - fewest) * ANOTHER_DIGIT ** (count - shortest[made_of])
        for (made_of, _), count in zip(each_made, written, strict=True)
    ]
    total = sum(shares)
    return [share * seldom / total for share, seldom in zip(shares, twice, strict=True)]


def read_call(
    utterance: Utterance, weighed: Weighed, language: Language, parts: NumberedParts | None = None
) -> Call | None:
    """Return what an utterance may have said, None when no call was heard in it (no answer has a word)."""
    best = next((answer for answer, _ in weighed if answer.words), None)
    if best is None:
        return None
    at_ns = spoken_at_ns(utterance, best, 0, best)
    found = candidates(weighed, language, parts)
    if not found:
        return Call(utterance, at_ns, best, ())
    likeliest = _likeliest_make_up(found, [candidate.weight for candidate in found])
    return Call(
        utterance,
        at_ns,
        best,
        slots_of(utterance, best, found, likeliest),
        found if _is_doubtful(found) else (),
    )


def _is_doubtful(found: Sequence[Candidate]) -> bool:
    """Whether a call of readings may have been one of others, in another order or number."""
    made_of = {candidate.made_of for candidate in found if candidate.weight >= _SOME_WEIGHT}
    return len(made_of) > 1 and all(
        isinstance(part, Reading) and not part.correction
        for candidate in found
        for part in candidate.meaning.parts
    )


def reframed(call: Call, fit: Callable[[Reading], float]) -> Call:
    """Return a call in the make-up that is likeliest by its sound and by how its values fit the drive; itself if it is in that.

    Args:
        call: a call of doubtful make-up, as `read_call` reads it.
        fit: the natural log of how much likelier the drive makes a reading of it than one out of the blue.
    """
    scores = []
    known: dict[int, float] = {}
    for candidate in call.found:
        fits = 0.0
        for number, part in zip(candidate.told, candidate.meaning.parts, strict=True):
            if isinstance(part, Reading):
                if number not in known:
                    known[number] = fit(part)
                fits += known[number]
        scores.append(candidate.weight * math.exp(max(-_MOST_FIT, min(_MOST_FIT, fits))))
    likeliest = _likeliest_make_up(call.found, scores)
    if likeliest == _likeliest_make_up(call.found, [candidate.weight for candidate in call.found]):
        return call
    slots = slots_of(call.utterance, call.best, call.found, likeliest)
    return Call(call.utterance, call.at_ns, call.best, slots, call.found)


def _likeliest_make_up(found: Sequence[Candidate], scores: Sequence[float]) -> MakeUp:
    likely: dict[MakeUp, float] = {}
    for candidate, score in zip(found, scores, strict=True):
        likely[candidate.made_of] = likely.get(candidate.made_of, 0.0) + score
    return max(likely, key=lambda each: likely[each])
