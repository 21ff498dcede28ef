"""The likeliest course of one quantity over the whole drive, and how much worse every other course is. Pure.

Each slot is in one of its options or *none of these*. A course's score is the sum of

- log weight for each option taken, less `RULE_COST` for what the rules say of the value alone;
- log weight of none for each slot left out: at least exp(-`NONE_COST`), more where other answers say something else;
- less `RULE_COST` for the rules' word on each step between two values taken that follow each other. A step that fails
  costs less than leaving out two readings and more than leaving out one: so one odd value is left out, while a true
  jump, borne out by what follows it, is kept and seen as such. A value doubted beside both its neighbours is left
  out, one doubted beside one of them is kept. Each of these differences is at least `settling.MARGIN` where the values
  around would otherwise be in doubt with it.

Steps reach over at most `REACH` slots left out; further apart a course may begin anew for the cost of a failing step.
So the work grows in proportion to the number of slots. `settle_chain` gives for each state of each slot the score of
the best course through it (max-marginals: Viterbi's algorithm run both ways), and the best course itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from logger.core.rules import RULES, Context, Facts, Observation, Outcome, Rule, Verdict, judge

NONE_COST = 7.0
RULE_COST: Mapping[Outcome, float] = {Outcome.PASS: 0.0, Outcome.DOUBT: 3.8, Outcome.FAIL: 10.5}
REACH = 5

_NEVER = -math.inf

StepCost = Callable[[Observation, Observation], float]


@dataclass(frozen=True, slots=True)
class ChainSlot:
    """One reading in a chain: what it may be, the natural log of each option's weight, and of none of them."""

    options: tuple[Observation, ...]
    log_weights: tuple[float, ...]
    none_log_weight: float


@dataclass(frozen=True, slots=True)
class Link:
    """One slot in the settled chain.

    Attributes:
        through: for each option the score of the best course that takes it.
        none: the score of the best course that leaves the slot out.
        taken: the option on the best course of all, None when it leaves the slot out.
        before, after: the values of the best course around the slot.
        after_counts: whether the slot is to be judged beside `after`: not where the course's step to it fails, since
            such a jump is asked about at its later end. A doubted step is asked about at both.
    """

    through: tuple[float, ...]
    none: float
    taken: int | None
    before: Observation | None
    after: Observation | None
    after_counts: bool


def none_log_weight(other_weight: float) -> float:
    """Return the log weight of none of the options, given the weight of answers that say something else."""
    return math.log(max(math.exp(-NONE_COST), min(1.0, other_weight)))


def settle_chain(
    slots: Sequence[ChainSlot], facts: Facts, rules: tuple[Rule, ...] = RULES
) -> tuple[Link, ...]:
    """Settle the slots of one quantity, given in order of time."""
    if not slots:
        return ()
    about = [rule for rule in rules if rule.about(slots[0].options[0].quantity)]
    alone = tuple(rule for rule in about if not rule.beside)
    beside = tuple(rule for rule in about if rule.beside)

    def step(earlier: Observation, later: Observation) -> Verdict:
        return judge(later, Context(facts, before=earlier), beside)

    nothing = Context(facts)
    local = [
        [
            weight - RULE_COST[judge(option, nothing, alone).outcome]
            for option, weight in zip(slot.options, slot.log_weights, strict=True)
        ]
        for slot in slots
    ]
    courses = _Courses(slots, local, lambda earlier, later: -RULE_COST[step(earlier, later).outcome])
    taken = courses.best()
    kept = [index for index, option in enumerate(taken) if option is not None]
    before = _nearest(slots, taken, range(len(slots)))
    after = _nearest(slots, taken, range(len(slots) - 1, -1, -1))
    counts = {
        earlier: step(_value(slots, taken, earlier), _value(slots, taken, later)).outcome is not Outcome.FAIL
        for earlier, later in pairwise(kept)
    }
    links = []
    last: int | None = None
    for index in range(len(slots)):
        if taken[index] is not None:
            last = index
        links.append(
            Link(
                tuple(courses.through(index)),
                courses.without(index),
                taken[index],
                before[index],
                after[index],
                last is None or counts.get(last, True),
            )
        )
    return tuple(links)


def _value(slots: Sequence[ChainSlot], taken: Sequence[int | None], index: int) -> Observation:
    option = taken[index]
    assert option is not None
    return slots[index].options[option]


def _nearest(
    slots: Sequence[ChainSlot], taken: Sequence[int | None], order: range
) -> list[Observation | None]:
    """Return for each slot the last value taken before it in the given order."""
    found: list[Observation | None] = [None] * len(slots)
    last: Observation | None = None
    for index in order:
        found[index] = last
        if taken[index] is not None:
            last = _value(slots, taken, index)
    return found


class _Courses:
    """Best scores of all courses, worked out once from either end."""

    def __init__(
        self, slots: Sequence[ChainSlot], local: Sequence[Sequence[float]], step_score: StepCost
    ) -> None:
        self._count = len(slots)
        self._local = local
        self._skipped = [0.0]  # the score of leaving out the slots before each
        for slot in slots:
            self._skipped.append(self._skipped[-1] + slot.none_log_weight)
        self._steps = {
            (i, j): [[step_score(a, b) for b in slots[j].options] for a in slots[i].options]
            for j in range(self._count)
            for i in range(max(0, j - REACH), j)
        }
        self._came_from: list[list[tuple[int, int] | None]] = []
        self._up_to = self._forward()
        self._from_on = self._backward()
        self._anew_before, self._anew_after = self._running()

    def _forward(self) -> list[list[float]]:
        """Best score of a course up to and with each option; remembers the step that led there."""
        up_to: list[list[float]] = []
        skipped = self._skipped
        anew, anew_at = _NEVER, (0, 0)  # best (score less what was skipped up to it), to begin anew from
        for j, scores in enumerate(self._local):
            row: list[float] = []
            origins: list[tuple[int, int] | None] = []
            for option, own in enumerate(scores):
                best, origin = skipped[j], None
                if anew + skipped[j] - RULE_COST[Outcome.FAIL] > best:
                    best, origin = anew + skipped[j] - RULE_COST[Outcome.FAIL], anew_at
                for i in range(max(0, j - REACH), j):
                    between = skipped[j] - skipped[i + 1]
                    steps = self._steps[i, j]
                    for other, reached in enumerate(up_to[i]):
                        score = reached + between + steps[other][option]
                        if score > best:
                            best, origin = score, (i, other)
                row.append(best + own)
                origins.append(origin)
            up_to.append(row)
            self._came_from.append(origins)
            for option, reached in enumerate(row):
                if reached - skipped[j + 1] > anew:
                    anew, anew_at = reached - skipped[j + 1], (j, option)
        return up_to

    def _backward(self) -> list[list[float]]:
        """Best score of what follows each option, the option itself not counted."""
        skipped = self._skipped
        from_on: list[list[float]] = [[] for _ in range(self._count)]
        anew = _NEVER
        for i in range(self._count - 1, -1, -1):
            row = []
            for option in range(len(self._local[i])):
                best = skipped[-1] - skipped[i + 1]
                best = max(best, anew - skipped[i + 1] - RULE_COST[Outcome.FAIL])
                for j in range(i + 1, min(self._count, i + REACH + 1)):
                    between = skipped[j] - skipped[i + 1]
                    steps = self._steps[i, j][option]
                    for other, own in enumerate(self._local[j]):
                        best = max(best, between + steps[other] + own + from_on[j][other])
                row.append(best)
            from_on[i] = row
            anew = max(
                [anew]
                + [skipped[i] + own + rest for own, rest in zip(self._local[i], from_on[i], strict=True)]
            )
        return from_on

    def _running(self) -> tuple[list[float], list[float]]:
        """Best score to leave from before each slot, and to arrive at after each, whatever the distance."""
        before = [_NEVER]
        for i in range(self._count):
            before.append(max(before[-1], max(self._up_to[i]) - self._skipped[i + 1]))
        after = [_NEVER] * (self._count + 1)
        for k in range(self._count - 1, -1, -1):
            arriving = max(own + rest for own, rest in zip(self._local[k], self._from_on[k], strict=True))
            after[k] = max(after[k + 1], arriving + self._skipped[k])
        return before, after

    def best(self) -> list[int | None]:
        """Return the option taken in each slot on the best course, None where it leaves the slot out."""
        taken: list[int | None] = [None] * self._count
        skipped = self._skipped
        best, at = skipped[-1], None
        for j, row in enumerate(self._up_to):
            for option, reached in enumerate(row):
                if reached + skipped[-1] - skipped[j + 1] > best:
                    best, at = reached + skipped[-1] - skipped[j + 1], (j, option)
        while at is not None:
            taken[at[0]] = at[1]
            at = self._came_from[at[0]][at[1]]
        return taken

    def through(self, index: int) -> list[float]:
        """Return the best score with each option of a slot."""
        return [
            reached + rest for reached, rest in zip(self._up_to[index], self._from_on[index], strict=True)
        ]

    def without(self, index: int) -> float:
        """Return the best score that leaves a slot out."""
        skipped = self._skipped
        best = max(
            skipped[-1],
            self._anew_after[index + 1],
            self._anew_before[index] + skipped[-1],
            self._anew_before[index] + self._anew_after[index + 1] - RULE_COST[Outcome.FAIL],
        )
        for i in range(max(0, index - REACH + 1), index):
            for k in range(index + 1, min(self._count, i + REACH + 1)):
                between = skipped[k] - skipped[i + 1]
                arriving = [own + rest for own, rest in zip(self._local[k], self._from_on[k], strict=True)]
                for reached, steps in zip(self._up_to[i], self._steps[i, k], strict=True):
                    for cost, rest in zip(steps, arriving, strict=True):
                        best = max(best, reached + between + cost + rest)
        return best
