"""A recogniser's whole list of answers -> what the call may have been, and for each reading in it what it may be. Pure.

Every answer is parsed strictly; one with several meanings shares its weight among them, and equal meanings of
several answers are one candidate whose weight is the sum. Answers outside the language that the recogniser preferred
to the first one within it keep their weight: it is the chance that this was no call. Those after it have none, since
who speaks the language said nothing outside it.

The first answer that has a meaning is the *frame*: its parts are the call's slots, numbered from 1, which name
the entries. Every other candidate is laid beside it, and each slot takes as options what stands there in them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from grammar import Command, Language, Meaning, Reading
from logger.core.placing import spoken_at_ns
from logger.model import Hypothesis, Recognition, Utterance

TEMPERATURE = 1.0
"""Scores are divided by it before they become weights; above 1 trusts the order of the answers less. In a trial on 420 TUNING calls,
half without noise and half at 10 dB in 300-3400 Hz, the joined answers of both recognisers told the truth best between 1
and 1.4 (least log loss): of answers with a weight of 0.9 to 0.99, 107 of 112 were right."""

ANOTHER_READING = 0.02
"""How likely a meaning of some words is beside one with a reading less. "Odometer twelve thousand three hundred
kilometers" is hardly ever an odometer of twelve thousand and a trip of three hundred, said without a breath."""

Part = Reading | Command

_OTHER_UNIT = 1.0
_OTHER_QUANTITY = 2.5
_OTHER_KIND = 10.0
_LEFT_OUT = 2.0


@dataclass(frozen=True, slots=True)
class Candidate:
    """One meaning the call may have: the best answer that says it, and the weight of all that do (0 to 1)."""

    meaning: Meaning
    hypothesis: Hypothesis
    weight: float


@dataclass(frozen=True, slots=True)
class Option:
    """One thing a slot may be.

    `weight` is the sum over the candidates that have it there, so the weights of a slot's options add up to at
    most 1. `first` says that the frame's answer itself means this.
    """

    part: Part
    weight: float
    heard: str
    first: bool


@dataclass(frozen=True, slots=True)
class Slot:
    """One part of a call: its number from 1, when its first word was spoken, and its options, likeliest first.

    `frame` is what the first answer says there.
    """

    utterance_id: int
    position: int
    at_ns: int
    frame: Part
    options: tuple[Option, ...]

    @property
    def id(self) -> str:
        """The entry's id."""
        return f"{self.utterance_id}-{self.position}"


@dataclass(frozen=True, slots=True)
class Call:
    """What one utterance may have said; `slots` is empty when no answer has a meaning."""

    utterance: Utterance
    at_ns: int
    heard: str
    slots: tuple[Slot, ...]


def weights(hypotheses: Sequence[Hypothesis]) -> tuple[float, ...]:
    """Return how likely each answer is among them: shares that add up to 1.

    With a finite score for each they are exp(score / `TEMPERATURE`), normalised; otherwise the ranks stand in for
    scores (each answer e times as likely as the next).
    """
    scores = [hypothesis.score for hypothesis in hypotheses]
    known = [score for score in scores if score is not None and math.isfinite(score)]
    if len(known) < len(scores):
        known = [-float(hypothesis.rank) for hypothesis in hypotheses]
    if not known:
        return ()
    highest = max(known)
    shares = [math.exp((score - highest) / TEMPERATURE) for score in known]
    total = sum(shares)
    return tuple(share / total for share in shares)


def candidates(recognition: Recognition, language: Language) -> tuple[Candidate, ...]:
    """Return every meaning of every answer once, in the order of the answers; their weights add up to at most 1."""
    answers: list[tuple[Hypothesis, tuple[Meaning, ...]]] = []
    for answer in sorted(recognition.hypotheses, key=lambda each: each.rank):
        meanings = language.meanings([word.text for word in answer.words])
        if meanings or not any(earlier for _, earlier in answers):
            answers.append((answer, meanings))
    found: dict[Meaning, Candidate] = {}
    chances = weights([answer for answer, _ in answers])
    for (answer, meanings), weight in zip(answers, chances, strict=True):
        fewest = min((len(meaning.parts) for meaning in meanings), default=0)
        shares = [ANOTHER_READING ** (len(meaning.parts) - fewest) for meaning in meanings]
        for meaning, part in zip(meanings, shares, strict=True):
            share = weight * part / sum(shares)
            known = found.get(meaning)
            if known is None:
                found[meaning] = Candidate(meaning, answer, share)
            else:
                found[meaning] = Candidate(known.meaning, known.hypothesis, known.weight + share)
    return tuple(found.values())


def read_call(utterance: Utterance, recognition: Recognition, language: Language) -> Call | None:
    """Return what an utterance may have said, None when no call was heard in it (no answer has a word)."""
    answers = sorted(
        (answer for answer in recognition.hypotheses if answer.words), key=lambda answer: answer.rank
    )
    if not answers:
        return None
    best = answers[0]
    at_ns = spoken_at_ns(utterance, best, 0, best)
    found = candidates(recognition, language)
    if not found:
        return Call(utterance, at_ns, best.text, ())
    frame = found[0]
    options: list[dict[Part, Option]] = [{} for _ in frame.meaning.parts]
    for candidate in found:
        beside = _laid_beside(frame.meaning.parts, candidate.meaning.parts)
        for slot, part in zip(options, beside, strict=True):
            if part is not None:
                known = slot.get(part)
                slot[part] = Option(
                    known.part if known else part,
                    candidate.weight + (known.weight if known else 0.0),
                    known.heard if known else _words(candidate.hypothesis, part),
                    first=candidate.hypothesis is frame.hypothesis or (known is not None and known.first),
                )
    return Call(
        utterance,
        at_ns,
        best.text,
        tuple(
            Slot(
                utterance.id,
                position,
                spoken_at_ns(utterance, frame.hypothesis, part.first_word, best),
                part,
                tuple(sorted(slot.values(), key=lambda option: -option.weight)),
            )
            for position, (part, slot) in enumerate(zip(frame.meaning.parts, options, strict=True), start=1)
        ),
    )


def _words(hypothesis: Hypothesis, part: Part) -> str:
    return " ".join(word.text for word in hypothesis.words[part.first_word : part.end_word])


def _laid_beside(frame: tuple[Part, ...], other: tuple[Part, ...]) -> list[Part | None]:
    """Return for each part of the frame the part of another meaning that stands in its place, None for none.

    The cheapest alignment in order (edit distance by dynamic programming).
    """
    rows, columns = len(frame), len(other)
    cost = [[_LEFT_OUT * (i + j) for j in range(columns + 1)] for i in range(rows + 1)]
    for i in range(1, rows + 1):
        for j in range(1, columns + 1):
            cost[i][j] = min(
                cost[i - 1][j - 1] + _difference(frame[i - 1], other[j - 1]),
                cost[i - 1][j] + _LEFT_OUT,
                cost[i][j - 1] + _LEFT_OUT,
            )
    beside: list[Part | None] = [None] * rows
    i, j = rows, columns
    while i and j:
        if cost[i][j] == cost[i - 1][j - 1] + _difference(frame[i - 1], other[j - 1]):
            i, j = i - 1, j - 1
            beside[i] = other[j]
        elif cost[i][j] == cost[i - 1][j] + _LEFT_OUT:
            i -= 1
        else:
            j -= 1
    return beside


def _difference(one: Part, other: Part) -> float:
    if one == other:
        return 0.0
    if isinstance(one, Reading) and isinstance(other, Reading):
        if one.quantity != other.quantity or one.correction != other.correction:
            return _OTHER_QUANTITY
        return _OTHER_UNIT if one.unit == other.unit else _OTHER_UNIT + 0.5
    if isinstance(one, Command) and isinstance(other, Command):
        return _OTHER_UNIT
    return _OTHER_KIND
