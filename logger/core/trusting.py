"""How far each of two joined recognisers can be believed on one drive. Pure.

Which of two recognisers hears a voice better differs from voice to voice, and no figure measured on other voices can tell.
The drive itself can: most calls are settled by what the drive allows, whatever the recognisers preferred, and the one that
had put what was settled higher deserves more belief for the rest. So a drive is settled with the weights measured on other
voices, those are taken that make what the rest of the drive says of each call the likeliest, and it is settled again
(expectation-maximisation; formulas in docs/method.md).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import isfinite
from operator import attrgetter, itemgetter

import numpy as np
from numpy.typing import NDArray

from grammar import Language, Reading
from logger.core.calibration import POCKETSPHINX_WEIGHT, Calibration, calibration_of
from logger.core.candidates import Weighed, as_measured, chances
from logger.core.fusing import ranked
from logger.core.habits import MISTAKEN, Habits, Lesson, by_habit, habits_of
from logger.core.left_out import probabilities
from logger.core.neighbours import Place
from logger.core.readers import Reader
from logger.model import Hypothesis, Recognition

LEARNED_FROM = 200
"""How many of a drive's first calls teach: an hour or two of driving, and a time that does not grow with the drive."""
ROUNDS = 2
"""How often the first calls are settled to learn, before the whole drive is settled."""

WEIGHT_SD, SHARPNESS_SD = 1.0, 0.4
"""What is known of both before a drive: standard deviations of their natural logs about what was measured. Of those tried,
near the least log loss of the truth in one half of each TUNING drive by what the other half had taught."""

WEIGHTS = tuple(POCKETSPHINX_WEIGHT * 2 ** (step / 2) for step in range(-8, 9))
SHARPNESSES = tuple(2 ** (step / 4) for step in range(-4, 1))
"""The weights and the sharpnesses that are held against each other. A drive may teach that answers tell less than measured, and
never that they tell more: that gains next to nothing (1 of 1756 readings of the TUNING drives at 10 dB), and what is
believed too firmly is wrong without a word."""
MEASURED_CALLS = 5.0
"""What was measured of how often the truth is in none of the answers counts like this many calls of the drive."""
_EARS = 2

_SMALLEST, _LARGEST = 1e-12, 1e100


@dataclass(frozen=True, slots=True)
class _Fits:
    """How many times likelier the rest of the drive makes each value of a reading, by value and unit, and none of these."""

    quantity: str
    values: Mapping[tuple[Decimal, str], float]
    none: float

    def of(self, part: Reading) -> float:
        """Return it for one value."""
        return self.values.get((part.value, part.unit), self.none)


_UNTOLD = _Fits("", {}, 1.0)
_MOVING = frozenset(("trip", "odometer", "charge", "clock", "energy_used", "range_left"))
"""What goes on with the way or the time teaches habits. What stays the same all day does not: heard wrong every time, it agrees
with itself."""


@dataclass(frozen=True, slots=True)
class Trust:
    """What two joined recognisers' scores are worth on a drive.

    Attributes:
        sharpness: what joined scores are multiplied by; 1 as measured on other voices, less where answers tell less.
        weight: what the second's scores count beside the first's.
    """

    sharpness: float
    weight: float
    habits: Habits = ()
    unlisted: float = 0.0


AS_MEASURED = Trust(1.0, POCKETSPHINX_WEIGHT)
"""What is believed of a voice that nobody has heard yet."""


def believed(recognition: Recognition, trust: Trust) -> Recognition:
    """Return a recognition with the scores and ranks that its answers have by that trust; itself where one listened alone."""
    if not _two_listened(recognition.hypotheses):
        return recognition
    answers = sorted(recognition.hypotheses, key=attrgetter("rank"))
    scores = _scores(answers, trust, calibration_of(recognition.recogniser))
    return replace(recognition, hypotheses=ranked(answers, scores))


def weighed_by(recognition: Recognition, trust: Trust) -> Weighed:
    """Return answers by that trust, likeliest first; as measured where one listened alone.

    It says the same as `believed` and is found faster.
    """
    if not _two_listened(recognition.hypotheses):
        return as_measured(recognition)
    calibration = _taught(recognition.recogniser, trust)
    answers = sorted(recognition.hypotheses, key=attrgetter("rank"))
    scores = _scores(answers, trust, calibration)
    pairs = zip(answers, chances(scores, calibration), strict=True)
    return sorted(pairs, key=itemgetter(1), reverse=True)


def calibrated(recognition: Recognition, trust: Trust) -> Calibration:
    """Return what a recogniser's scores are worth by that trust; as measured where one listened alone."""
    if not _two_listened(recognition.hypotheses):
        return calibration_of(recognition.recogniser)
    return _taught(recognition.recogniser, trust)


def _taught(recogniser: str, trust: Trust) -> Calibration:
    calibration = calibration_of(recogniser)
    return Calibration(calibration.temperature, trust.unlisted) if trust.unlisted else calibration


def _scores(answers: Sequence[Hypothesis], trust: Trust, calibration: Calibration) -> list[float]:
    """Return the score of each answer of two who listened, by that trust."""
    first, second = trust.sharpness, trust.sharpness * trust.weight
    scores = [first * one + second * other for one, other in (answer.ear_scores for answer in answers)]
    if not trust.habits:
        return scores
    habits = by_habit(answers, trust.habits)
    return [score + calibration.temperature * habit for score, habit in zip(scores, habits, strict=True)]


def teaching(recognitions: Iterable[Recognition]) -> bool:
    """Whether any of these can teach what two recognisers are worth."""
    return any(_two_listened(each.hypotheses) for each in recognitions)


def learned(
    recognitions: Mapping[int, Recognition], readings: Iterable[tuple[Reader, Place]], language: Language
) -> Trust:
    """Return the likeliest trust by what a drive that was settled says of its calls.

    Args:
        recognitions: what was heard, by utterance id.
        readings: every reading that stands, as it was settled.
        language: what may be said.
    """
    chance = -0.5 * (
        (np.log(np.array(SHARPNESSES)) / SHARPNESS_SD)[:, None] ** 2
        + (np.log(np.array(WEIGHTS) / POCKETSPHINX_WEIGHT) / WEIGHT_SD)[None, :] ** 2
    )
    calls = []
    joined = {number for number, each in recognitions.items() if _two_listened(each.hypotheses)}
    readings = [each for each in readings if each[0].spoken.slot.utterance_id in joined]
    for utterance_id, told in _told_apart(readings).items():
        answers = recognitions[utterance_id].hypotheses
        calibration = calibration_of(recognitions[utterance_id].recogniser)
        said = [_said_in_that_order(answer, told, language) for answer in answers]
        fits = [_fit(each, told) for each in said]
        chance += log_chances(answers, fits, calibration.temperature)
        moving = [each if each.quantity in _MOVING else _UNTOLD for each in told]
        taught = [_fit(each, moving) for each in said]
        if max(taught) > 0.0:
            calls.append((answers, taught, calibration))
    sharpness, weight = np.unravel_index(int(chance.argmax()), chance.shape)
    trust = Trust(SHARPNESSES[sharpness], WEIGHTS[weight])
    return replace(
        trust,
        habits=habits_of([_lesson(trust, *call) for call in calls]),
        unlisted=_unlisted(recognitions, readings),
    )


def _unlisted(recognitions: Mapping[int, Recognition], readings: Iterable[tuple[Reader, Place]]) -> float:
    """Return how often the truth is in none of the answers, by what the drive says of the calls and what was measured.

    0 where it is no more than was measured.
    """
    missed: dict[int, float] = {}
    for reader, place in readings:
        utterance_id = reader.spoken.slot.utterance_id
        told = probabilities(reader, place)
        guessed = sum([s for s, option in zip(told.options, reader.options, strict=True) if option.guessed])
        missed[utterance_id] = max(missed.get(utterance_id, 0.0), told.unheard + guessed)
    if not missed:
        return 0.0
    measured = calibration_of(recognitions[next(iter(missed))].recogniser).unlisted
    taught = (measured * MEASURED_CALLS + sum(missed.values())) / (MEASURED_CALLS + len(missed))
    return taught if taught > measured else 0.0


def _lesson(
    trust: Trust, answers: Sequence[Hypothesis], fits: Sequence[float], calibration: Calibration
) -> Lesson:
    logs = np.array(_scores(answers, trust, calibration)) / calibration.temperature
    return Lesson(answers, logs, np.array(fits) / max(fits))


def log_chances(
    answers: Sequence[Hypothesis], fits: Sequence[float], temperature: float
) -> NDArray[np.float64]:
    """Return the natural log of how likely a call is by each trust, shape (sharpnesses, weights), up to what all share."""
    first, second = np.array([answer.ear_scores for answer in answers]).T
    joined = first + np.array(WEIGHTS)[:, None] * second
    sharpened = np.array(SHARPNESSES)[:, None, None] * joined / temperature
    share = np.exp(sharpened - sharpened.max(axis=2, keepdims=True))
    best = max(fits)
    if best <= 0.0:
        return np.zeros(share.shape[:2])
    fitting = (share @ (np.array(fits) / best)) / share.sum(axis=2)
    chance: NDArray[np.float64] = np.log(MISTAKEN + (1.0 - MISTAKEN) * fitting)
    return chance


def _two_listened(answers: Sequence[Hypothesis]) -> bool:
    scores = [answer.ear_scores for answer in answers]
    return (
        bool(scores)
        and all(len(each) == _EARS for each in scores)
        and isfinite(sum([one + other for one, other in scores]))
    )


def _told_apart(readings: Iterable[tuple[Reader, Place]]) -> dict[int, list[_Fits]]:
    """Return for each utterance how well each value of each of its readings fits the rest of the drive, in the order said."""
    found: dict[int, list[tuple[int, _Fits]]] = {}
    for reader, place in readings:
        slot = reader.spoken.slot
        found.setdefault(slot.utterance_id, []).append((slot.position, _fits(reader, place)))
    return {number: [fits for _, fits in sorted(own, key=itemgetter(0))] for number, own in found.items()}


def _fits(reader: Reader, place: Place) -> _Fits:
    """Return how many times likelier the rest of the drive makes each value of a reading than its sound did."""
    posterior, index = place.woven.posterior, place.at
    values = {
        (option.part.value, option.part.unit): float(share) / max(option.weight, _SMALLEST)
        for option, share in zip(reader.options, posterior.options[index], strict=False)
        if isinstance(option.part, Reading)
    }
    return _Fits(
        reader.observations[0].quantity,
        values,
        float(posterior.none[index]) / max(reader.other_weight, _SMALLEST),
    )


def _said_in_that_order(
    answer: Hypothesis, told: Sequence[_Fits], language: Language
) -> list[tuple[Reading, ...]]:
    """Return what an answer may mean that consists of the quantities of a call, in their order."""
    quantities = [fits.quantity for fits in told]
    return [
        meaning.readings
        for meaning in language.meanings([word.text for word in answer.words])
        if [part.quantity for part in meaning.readings] == quantities
    ]


def _fit(said: Sequence[tuple[Reading, ...]], told: Sequence[_Fits]) -> float:
    """Return how many times likelier the rest of the drive makes an answer; of several meanings the likeliest counts."""
    best = max(
        (math.prod(fits.of(part) for fits, part in zip(told, readings, strict=True)) for readings in said),
        default=math.prod(fits.none for fits in told),
    )
    return min(best, _LARGEST)
