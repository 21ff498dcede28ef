"""Answers to counts. `auto` is what odovox itself makes of the two lists that it would have had."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from evaluation.conditions import Condition
from evaluation.ears import AUTO, POCKETSPHINX, Ear
from evaluation.hearing import Answers, Heard, Key
from evaluation.trials import Trial, language
from logger.model import Samples
from logger.ports import Recogniser
from logger.wiring.choosing import One, choose_from


@dataclass(frozen=True, slots=True)
class Row:
    """Counts of one voice under one condition, by one recogniser.

    Attributes:
        system: who listened.
        kind: what was said.
        voice: who said it.
        condition: under which noise.
        count: how many trials.
        first: of calls, in how many the first answer with a meaning is exactly what was said.
        among: of calls, in how many any answer is.
        no_call: in how many no answer has a meaning.
    """

    system: str
    kind: str
    voice: str
    condition: str
    count: int
    first: int
    among: int
    no_call: int


@dataclass(frozen=True, slots=True)
class Pair:
    """How often `auto` and PocketSphinx differ on the same sounds: only one's first answer is right."""

    kind: str
    condition: str
    count: int
    only_auto: int
    only_pocketsphinx: int


@dataclass(frozen=True, slots=True)
class Verdict:
    """What one list of answers is worth."""

    first: bool
    among: bool
    no_call: bool


class _Repeating:
    """Says what a recogniser said before."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.answers: Answers = ()

    def recognise(self, samples: Samples) -> Answers:  # noqa: ARG002 (what it heard then is what counts)
        """Return it."""
        return self.answers


def judged(answers: Answers, trial: Trial) -> Verdict:
    """Return whether answers hold what was said."""
    meant = [
        [tuple((part.quantity, part.value, part.unit) for part in meaning.readings) for meaning in meanings]
        for answer in answers
        if (meanings := language(trial.sheet).meanings([word.text for word in answer.words]))
    ]
    if trial.truth is None:
        return Verdict(first=False, among=False, no_call=not meant)
    return Verdict(
        first=bool(meant) and trial.truth in meant[0],
        among=any(trial.truth in meanings for meanings in meant),
        no_call=not meant,
    )


def verdicts(
    trials: Sequence[Trial], conditions: Iterable[Condition], heard: Mapping[Ear, Mapping[Key, Heard]]
) -> Iterator[tuple[str, Trial, str, Verdict, str]]:
    """Yield system, trial, condition's name, verdict and first answer, of each recogniser and of `auto`."""
    repeating = {"vosk": _Repeating("call model"), "pocketsphinx": _Repeating("pocketsphinx")}

    def opened(one: One, _model: Path | None) -> Recogniser:
        return repeating[one]

    auto = choose_from("auto", None, opened).recogniser
    nothing = np.zeros(0, np.int16)
    for condition in conditions:
        for trial in trials:
            key = trial.key, condition.name
            by_kind = {}
            for ear, answers in heard.items():
                if key in answers and ear.hears(trial):
                    said = answers[key].answers
                    by_kind[ear.kind] = said
                    yield ear.name, trial, condition.name, judged(said, trial), _text(said)
            if {"call model", "pocketsphinx"} <= by_kind.keys():
                repeating["vosk"].answers = by_kind["call model"]
                repeating["pocketsphinx"].answers = by_kind["pocketsphinx"]
                said = auto.recognise(nothing)
                yield AUTO, trial, condition.name, judged(said, trial), _text(said)


def counted(found: Iterable[tuple[str, Trial, str, Verdict, str]]) -> tuple[list[Row], list[Pair]]:
    """Return the rows, and on how many sounds `auto` and PocketSphinx differ."""
    counts: dict[tuple[str, str, str, str], Counter[str]] = defaultdict(Counter)
    right: dict[tuple[str, str], dict[str, dict[str, bool]]] = defaultdict(lambda: defaultdict(dict))
    for system, trial, condition, verdict, _ in found:
        tally = counts[system, trial.kind, trial.voice, condition]
        tally["count"] += 1
        for name in ("first", "among", "no_call"):
            tally[name] += getattr(verdict, name)
        if trial.truth is not None:
            right[trial.kind, condition][trial.key][system] = verdict.first
    rows = [
        Row(*key, tally["count"], tally["first"], tally["among"], tally["no_call"])
        for key, tally in counts.items()
    ]
    pairs = []
    for (kind, condition), trials in right.items():
        both = [
            (each[AUTO], each[POCKETSPHINX])
            for each in trials.values()
            if {AUTO, POCKETSPHINX} <= each.keys()
        ]
        only = Counter(both)
        if both:
            pairs.append(Pair(kind, condition, len(both), only[True, False], only[False, True]))
    return rows, pairs


def _text(answers: Answers) -> str:
    return answers[0].text if answers else ""
