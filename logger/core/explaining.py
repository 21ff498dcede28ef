"""How an entry came about: what was heard, all that it may be and what speaks for each, and what the rules say. Pure.

Weights of steps are those of the two steps between the trusted readings before and after and the reading itself. The
probabilities come from all steps of the whole drive (`chain`), so a weight may look better than its probability: another
value may do better still, or a neighbour's other values speak against it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from difflib import get_close_matches

import numpy as np

from grammar import Reading
from logger.core.calibration import Calibration
from logger.core.candidates import weights
from logger.core.expecting import expected_text
from logger.core.left_out import probabilities
from logger.core.neighbours import Place
from logger.core.plausible.courses import Course
from logger.core.plausible.odds import Odds, alone_odds, step_odds
from logger.core.plausible.strand import Floats, steps_of
from logger.core.readers import Reader
from logger.core.reconcile import Worked
from logger.core.rules import RULES, Context, Observation, Verdict, told
from logger.core.settling import standing
from logger.core.slots import Option
from logger.core.trusting import Trust, believed, calibrated, teaching
from logger.model import Decision, Recognition

_DIGITS = 9
"""No part of a call has a number with more."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer of the recogniser: its score (of two joined ones as this drive taught to join them), and how likely it is by the calibrated scores."""

    text: str
    score: float | None
    weight: float


@dataclass(frozen=True, slots=True)
class StepWeight:
    """How much likelier than out of the blue a step is: natural logs, for going on as usual and for a surprise."""

    usual: float
    surprise: float


@dataclass(frozen=True, slots=True)
class Possibility:
    """One value that a reading may have.

    Attributes:
        observed: the value, and where it was read off.
        words: how it was heard.
        weight: how likely it is by its sound.
        alone: natural log of how much likelier than out of the blue it is by itself.
        from_before, to_after: the steps from and to the trusted readings, None where there are none.
        surprise: how likely it was reached by a surprise, if it is the true one.
        probability: by all this and the whole drive.
        first: whether the recogniser's first answer means it.
        guessed: whether no answer means it, but it sounds alike or the drive makes it likely.
    """

    observed: Observation
    words: str
    weight: float
    alone: float
    from_before: StepWeight | None
    to_after: StepWeight | None
    surprise: float
    probability: float
    first: bool
    guessed: bool


@dataclass(frozen=True, slots=True)
class Other:
    """What else a reading may be: of another quantity, a command, or too unlikely to be weighed. `text` is its value."""

    quantity: str
    text: str
    words: str
    weight: float


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A trusted reading of the same quantity: its entry's id, and how far away it is. `entry_id` may be ""."""

    entry_id: str
    observed: Observation
    km: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Judged:
    """What each rule about the quantity says of one value."""

    observed: Observation
    verdicts: tuple[Verdict, ...]


@dataclass(frozen=True, slots=True)
class Weighing:
    """What speaks for and against each value of a reading.

    Attributes:
        possibilities: likeliest first.
        none_weight, none_probability: how likely none of them is, by the sound alone and in the end.
        others: what else it may be and was not weighed, likeliest first.
        before, after: the trusted readings around it.
        course: how the quantity goes on, as learned from the drive.
        clock_ahead_min: how far the dash's clock is ahead of UTC; None where the drive does not tell.
        expected: what the course makes likely here, "" where it tells nothing.
        heard, likeliest: what the rules say of the value heard and of the likeliest one.
        leads_on: whether the rules judge the step to the reading after. Where that is a surprise, it is asked about at that one.
    """

    possibilities: tuple[Possibility, ...]
    none_weight: float
    none_probability: float
    others: tuple[Other, ...]
    before: Neighbour | None
    after: Neighbour | None
    course: Course
    clock_ahead_min: float | None
    expected: str
    heard: Judged
    likeliest: Judged
    leads_on: bool


@dataclass(frozen=True, slots=True)
class Explanation:
    """How an entry came about.

    Attributes:
        recogniser: who heard it, "" where nobody did.
        answers: all that was heard of the call, best first.
        unlisted: how likely the truth is in none of the answers.
        trust: what the scores of two recognisers were worth on this drive; None where one listened alone.
        weighing: None for what is no reading, and for a reading that no longer stands.
        decisions: what people decided about it, in the order decided; the last one that was not withdrawn counts. The weighing leaves them out.
    """

    recogniser: str
    answers: tuple[Answer, ...]
    unlisted: float
    trust: Trust | None
    weighing: Weighing | None
    decisions: tuple[Decision, ...]


def explain(
    entry_id: str, worked: Worked, recognition: Recognition | None, decisions: Iterable[Decision]
) -> Explanation:
    """Tell how an entry came about.

    Args:
        entry_id: the entry.
        worked: the drive worked out without what was decided about this entry.
        recognition: what was heard of the entry's utterance; None where the entry was not heard.
        decisions: what people decided about it, in the order decided; see `decided.is_about`.
    """
    reading = worked.readings.get(entry_id)
    answers: tuple[Answer, ...] = ()
    unlisted = 0.0
    if recognition is not None:
        calibration = calibrated(recognition, worked.trust)
        answers = _answers(believed(recognition, worked.trust), calibration)
        unlisted = calibration.unlisted
    return Explanation(
        recogniser="" if recognition is None else recognition.recogniser,
        answers=answers,
        unlisted=unlisted,
        trust=worked.trust if recognition is not None and teaching([recognition]) else None,
        weighing=None if reading is None else _Weigher(*reading, worked).weighing(),
        decisions=tuple(decisions),
    )


def nearest_id(wrong: str, ids: Sequence[str]) -> str:
    """Return the entry id that was most likely meant, "" where none is near: 12.2 and 12-9 may mean 12-2."""
    utterance, _, part = wrong.replace(".", "-").replace("_", "-").strip().partition("-")
    same = [
        each for each in ids if each.partition("-")[0] == utterance and each.partition("-")[2].isdecimal()
    ]
    if not same:
        return next(iter(get_close_matches(wrong, ids, n=1)), "")
    number = int(part[:_DIGITS]) if part.isdecimal() else 1
    return min(same, key=lambda each: abs(int(each.partition("-")[2]) - number))


def _answers(recognition: Recognition, calibration: Calibration) -> tuple[Answer, ...]:
    ordered = sorted(recognition.hypotheses, key=lambda each: each.rank)
    chances = weights(ordered, calibration)
    return tuple(Answer(each.text, each.score, chance) for each, chance in zip(ordered, chances, strict=True))


class _Weigher:
    def __init__(self, reader: Reader, place: Place, worked: Worked) -> None:
        self._reader, self._place, self._worked = reader, place, worked
        self._woven = place.woven
        self._shares, foreign, unheard = probabilities(reader, place)
        self._none = unheard + sum(foreign)
        self._standing = standing(reader, place, worked.facts, self._shares)

    def weighing(self) -> Weighing:
        reader, place, woven = self._reader, self._place, self._woven
        possibilities = sorted(self._possibilities(), key=lambda each: -each.probability)
        context = self._standing.context
        leads_on = context.after is not None or place.after is None
        heard = reader.observations[self._standing.heard]
        return Weighing(
            possibilities=tuple(possibilities),
            none_weight=reader.other_weight,
            none_probability=self._none,
            others=tuple(
                _other(option) for option in reader.spoken.slot.options if option not in reader.options
            ),
            before=self._neighbour(place.before_at),
            after=self._neighbour(place.after_at),
            course=woven.course,
            clock_ahead_min=self._worked.facts.clock_ahead_min,
            expected=expected_text(heard, place, beside_after=leads_on),
            heard=_judged(heard, context),
            likeliest=_judged(reader.observations[self._standing.best], context),
            leads_on=leads_on,
        )

    def _possibilities(self) -> list[Possibility]:
        index, woven = self._place.at, self._woven
        ahead_min = self._worked.facts.clock_ahead_min
        alone = alone_odds(woven.strand, woven.course, clock_ahead_min=ahead_min)[index]
        before, after = self._steps()
        surprise = woven.posterior.surprise_before[index]
        return [
            Possibility(
                observed=observed,
                words=option.heard,
                weight=option.weight,
                alone=float(alone[number]),
                from_before=_step(before, number),
                to_after=_step(after, number),
                surprise=float(surprise[number]),
                probability=float(self._shares[number]),
                first=option.first,
                guessed=option.guessed,
            )
            for number, (option, observed) in enumerate(
                zip(self._reader.options, self._reader.observations, strict=True)
            )
        ]

    def _steps(self) -> tuple[Odds | None, Odds | None]:
        """Return the odds of the steps from the trusted reading before and to the one after, by the value here."""
        place, woven = self._place, self._woven
        own = place.at
        rows = [own if at is None else at for at in (place.before_at, own, place.after_at)]
        near = replace(
            woven.strand,
            **{
                each.name: getattr(woven.strand, each.name)[rows]
                for each in fields(woven.strand)
                if each.name != "quantity"
            },
        )
        odds = step_odds(near.quantity, steps_of(near), woven.course)
        behind, _, ahead = (int(np.argmax(woven.posterior.options[at])) for at in rows)
        return (
            None if place.before_at is None else Odds(*(each[1, 0, behind, :] for each in _both(odds))),
            None if place.after_at is None else Odds(*(each[2, 0, :, ahead] for each in _both(odds))),
        )

    def _neighbour(self, at: int | None) -> Neighbour | None:
        index, woven = self._place.at, self._woven
        observed = None if at is None else woven.taken(at)
        if observed is None:
            return None
        key = (observed.at_ns, observed.quantity, observed.value, observed.unit)
        ids = (
            entry.id
            for entry in self._worked.entries
            if (entry.at_ns, entry.quantity, entry.value, entry.unit) == key
        )
        return Neighbour(
            next(ids, ""),
            observed,
            abs(float(woven.strand.km[at] - woven.strand.km[index])),
            abs(observed.at_ns - woven.knots[index].at_ns) / 1e9,
        )


def _other(option: Option) -> Other:
    part = option.part
    if isinstance(part, Reading):
        text = told(part.quantity, part.value, part.unit)
        return Other(part.quantity, text, option.heard, option.weight)
    return Other(part.kind.value, part.text, option.heard, option.weight)


def _both(odds: Odds) -> tuple[Floats, Floats]:
    return odds.usual, odds.surprise


def _step(odds: Odds | None, option: int) -> StepWeight | None:
    return None if odds is None else StepWeight(float(odds.usual[option]), float(odds.surprise[option]))


def _judged(observed: Observation, context: Context) -> Judged:
    rules = (rule for rule in RULES if rule.about(observed.quantity))
    return Judged(observed, tuple(rule.check(observed, context) for rule in rules))
