"""How honest recognisers' scores are: the log loss of what they make of calls, by the temperature they are divided by.

`logger/core/calibration.py` holds what came out best on the TUNING drives.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from logger.core.calibration import Calibration, calibration_of
from logger.core.candidates import weights
from logger.model import Hypothesis
from rehearsed.hearing import language
from rehearsed.records import RehearsedCall, RehearsedDrive
from rehearsed.settled import heard_by

TEMPERATURES = tuple(round(0.4 * 1.1**step, 2) for step in range(26))
"""From 0.4 to 4.3."""


@dataclass(frozen=True, slots=True)
class Scored:
    """One recogniser's scores of calls with readings.

    Attributes:
        calls: how many it heard anything in; `unlisted`: in how many of those the truth is in no answer.
        temperature, loss: as it is now, and the mean natural-log loss of a call.
        best_temperature, best_loss: the same for the best of `TEMPERATURES`, with the measured share unlisted.
    """

    recogniser: str
    calls: int
    unlisted: int
    temperature: float
    loss: float
    best_temperature: float
    best_loss: float


def scored(drives: Iterable[RehearsedDrive], recogniser: str) -> Scored:
    """Return how honest a recogniser's scores are on these drives."""
    lists = []
    for drive in drives:
        for call in drive.calls:
            answers = heard_by(call, recogniser)
            if call.readings and answers:
                lists.append((answers, _true_shares(answers, call, drive.system)))
    unlisted = sum(not any(shares) for _, shares in lists)
    measured = max(unlisted, 1) / len(lists)
    now = calibration_of(recogniser)
    losses = {each: _loss(lists, Calibration(each, measured)) for each in TEMPERATURES}
    best = min(losses, key=lambda each: losses[each])
    return Scored(recogniser, len(lists), unlisted, now.temperature, _loss(lists, now), best, losses[best])


def _true_shares(answers: Sequence[Hypothesis], call: RehearsedCall, system: str) -> tuple[float, ...]:
    """Return for each answer which share of its meanings is the truth."""
    said = tuple((each.quantity, Decimal(each.value), each.unit) for each in call.readings)
    shares = []
    for answer in answers:
        meanings = language(system).meanings([word.text for word in answer.words])
        right = [tuple((r.quantity, r.value, r.unit) for r in each.readings) == said for each in meanings]
        shares.append(sum(right) / len(right) if right else 0.0)
    return tuple(shares)


def _loss(lists: Sequence[tuple[Sequence[Hypothesis], Sequence[float]]], calibration: Calibration) -> float:
    total = 0.0
    for answers, shares in lists:
        chances = weights(answers, calibration)
        chance = sum(each * share for each, share in zip(chances, shares, strict=True))
        total -= math.log(chance if any(shares) else calibration.unlisted)
    return total / len(lists)
