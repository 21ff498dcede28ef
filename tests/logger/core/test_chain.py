"""The likeliest course of a quantity: held to trying out every course."""

from __future__ import annotations

import itertools
import math
from decimal import Decimal

import pytest
from called_drives import BEGAN, NANO
from hypothesis import given, settings
from hypothesis import strategies as st

from logger.core.chain import (
    NONE_COST,
    REACH,
    RULE_COST,
    ChainSlot,
    none_log_weight,
    settle_chain,
)
from logger.core.rules import RULES, Context, Facts, Observation, Outcome, judge, observe
from logger.model import Place

FACTS = Facts({})
ALONE = tuple(rule for rule in RULES if not rule.beside)
BESIDE = tuple(rule for rule in RULES if rule.beside)


def charge(value: int, number: int) -> Observation:
    """A charge at a kilometre of a drive, one a minute."""
    place = Place(45.0, 0.0, 1000.0 * number, None, 1.0)
    return observe("charge", Decimal(value), "%", at_ns=60 * NANO * number, began_utc_ns=BEGAN, place=place)


def slots(*values: tuple[int, ...] | int) -> list[ChainSlot]:
    """A slot for each; several values are options, each e^3 times as likely as the next."""
    made = []
    for number, value in enumerate(values):
        options = value if isinstance(value, tuple) else (value,)
        shares = [math.exp(-3.0 * rank) for rank in range(len(options))]
        made.append(
            ChainSlot(
                tuple(charge(option, number) for option in options),
                tuple(math.log(share / sum(shares)) for share in shares),
                -NONE_COST,
            )
        )
    return made


def score(chain: list[ChainSlot], course: tuple[int | None, ...]) -> float:
    """A course's score, by the definition in the module's docstring."""
    total = 0.0
    last: tuple[int, Observation] | None = None
    for number, (slot, taken) in enumerate(zip(chain, course, strict=True)):
        if taken is None:
            total += slot.none_log_weight
            continue
        observed = slot.options[taken]
        total += slot.log_weights[taken] - RULE_COST[judge(observed, Context(FACTS), ALONE).outcome]
        if last is not None:
            verdict = judge(observed, Context(FACTS, before=last[1]), BESIDE)
            far = number - last[0] > REACH
            total -= RULE_COST[Outcome.FAIL if far else verdict.outcome]
        last = (number, observed)
    return total


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.integers(40, 60), min_size=1, max_size=2, unique=True), min_size=1, max_size=8))
def test_it_is_the_best_of_all_courses(values: list[list[int]]) -> None:
    """For every state of every slot, the score is that of the best course through it, as found by trying all."""
    chain = slots(*map(tuple, values))
    states = [(*range(len(slot.options)), None) for slot in chain]
    courses = {course: score(chain, course) for course in itertools.product(*states)}

    links = settle_chain(chain, FACTS)

    assert pytest.approx(max(courses.values())) == courses[tuple(link.taken for link in links)]
    for number, link in enumerate(links):
        for state in states[number]:
            best = max(each for course, each in courses.items() if course[number] == state)
            assert pytest.approx(best) == (link.none if state is None else link.through[state])


def taken(*values: tuple[int, ...] | int) -> list[int | None]:
    """The values on the best course."""
    chain = slots(*values)
    return [
        None if link.taken is None else int(slot.options[link.taken].value)
        for slot, link in zip(chain, settle_chain(chain, FACTS), strict=True)
    ]


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ((63, 62, 61), [63, 62, 61]),
        ((63, 16, 61), [63, None, 61]),
        ((16, 62, 61, 60), [None, 62, 61, 60]),
        ((63, 62, 16), [63, 62, None]),
        ((63, 16, 17, 61, 60), [63, None, None, 61, 60]),
        ((63, (16, 62), 61), [63, 62, 61]),
        ((20, 19, 80, 79), [20, 19, 80, 79]),
        ((63, 62, 64, 62), [63, 62, 64, 62]),
    ],
)
def test_what_it_keeps(values: tuple[tuple[int, ...] | int, ...], expected: list[int | None]) -> None:
    """One odd value is left out, a better answer preferred, and a jump that later readings bear out is kept."""
    assert expected == taken(*values)


def test_a_jump_is_asked_about_at_its_later_end() -> None:
    """The reading before a jump is not judged by what comes after it; the one after it is."""
    links = settle_chain(slots(20, 19, 80, 79), FACTS)

    assert [True, False, True, True] == [link.after_counts for link in links]
    assert [None, 20, 19, 80] == [link.before and int(link.before.value) for link in links]
    assert [19, 80, 79, None] == [link.after and int(link.after.value) for link in links]


def test_two_readings_that_contradict_each_other() -> None:
    """Nothing says which one is wrong, so leaving out either is equally good."""
    first, second = settle_chain(slots(19, 89), FACTS)

    assert pytest.approx(first.none) == second.through[0]
    assert pytest.approx(first.through[0]) == second.none


def test_other_answers_make_none_likelier() -> None:
    """None of the options weighs what the other answers weigh, and never less than exp(-NONE_COST)."""
    assert -NONE_COST == none_log_weight(0.0)
    assert math.log(0.25) == none_log_weight(0.25)
    assert 0.0 == none_log_weight(1.5)


def test_nothing_to_settle() -> None:
    """A quantity without readings has no chain."""
    assert () == settle_chain([], FACTS)
