"""From a recogniser's list of answers to what a call may have been."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
from called_drives import LANGUAGE, TYPED, UTTERANCE, answers, call_of, option_values
from hypothesis import given
from hypothesis import strategies as st

from grammar import Reading
from logger.core.calibration import Calibration
from logger.core.candidates import as_measured, candidates, read_call, reframed, weights
from logger.model import Hypothesis, Recognition

HONEST = Calibration(1.0, 0.0)


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=20), st.floats(0.5, 4.0), st.floats(0.0, 0.2))
def test_weights_are_the_softmax_of_the_scores(
    scores: list[float], temperature: float, unlisted: float
) -> None:
    """They are in proportion to exp(score / temperature), as numpy computes it, and leave what is in no answer."""
    shares = weights(
        [Hypothesis(rank, (), score) for rank, score in enumerate(scores)], Calibration(temperature, unlisted)
    )
    shifted = np.exp((np.array(scores) - max(scores)) / temperature)

    assert pytest.approx(1.0 - unlisted) == sum(shares)
    assert pytest.approx((1.0 - unlisted) * shifted / shifted.sum()) == np.array(shares)


@pytest.mark.parametrize("missing", [None, math.nan, -math.inf])
def test_without_scores_the_rank_decides(missing: float | None) -> None:
    """One missing score makes all of them useless; each answer then weighs e times the next."""
    shares = weights([Hypothesis(0, (), missing), Hypothesis(1, (), 400.0)], HONEST)

    assert pytest.approx(math.e) == shares[0] / shares[1]


def test_no_answers_no_weights() -> None:
    """An empty list has none."""
    assert () == weights((), HONEST)


def test_equal_meanings_are_one_candidate() -> None:
    """Two ways to say a number in two answers count together, once."""
    found = candidates(
        as_measured(
            Recognition(
                12,
                "typed",
                answers(
                    "checkpoint two oh seven kilometers left",
                    "checkpoint two hundred and seven kilometers left",
                    "checkpoint two hundred kilometers left",
                    scores=[0.0, 0.0, 0.0],
                ),
            )
        ),
        LANGUAGE,
    )

    assert [("207", pytest.approx(TYPED * 2 / 3)), ("200", pytest.approx(TYPED / 3))] == [
        (str(each.meaning.readings[0].value), each.weight) for each in found
    ]


def test_meanings_of_one_answer_share_its_weight() -> None:
    """A time of seven forty is before noon or after it, each half as likely."""
    slot = call_of("checkpoint time seven forty").slots[0]

    assert {("clock", "460", "min", 0.4995), ("clock", "1180", "min", 0.4995)} == set(
        option_values(slot.options)
    )
    assert all(option.first for option in slot.options)


def test_a_meaning_with_more_readings_is_less_likely() -> None:
    """An odometer is hardly ever cut short to make room for a trip, but it may be."""
    slot = call_of("checkpoint odometer twelve thousand three hundred kilometers").slots[0]

    assert [("odometer", "12300", "km"), ("odometer", "12000", "mi")] == [
        each[:3] for each in option_values(slot.options)
    ]
    assert pytest.approx(TYPED * 0.02 / 1.02, abs=1e-4) == option_values(slot.options)[1][3]


def test_better_answers_outside_the_language_keep_their_weight() -> None:
    """What may have been no call at all makes the rest less likely."""
    slot = call_of("checkpoint hello", "checkpoint six percent", scores=[0.0, 0.0]).slots[0]

    assert [("charge", "6", "%", 0.4995)] == option_values(slot.options)


def test_worse_answers_outside_the_language_have_no_weight() -> None:
    """Once the recogniser's answer is a call, garbled variants of it are none."""
    slot = call_of("checkpoint six percent", "checkpoint six percent [unk]", scores=[0.0, 0.0]).slots[0]

    assert [("charge", "6", "%", TYPED)] == option_values(slot.options)


def test_a_call_without_a_meaning_keeps_its_words() -> None:
    """Nothing that was said vanishes."""
    found = call_of("checkpoint percent", "checkpoint miles")

    assert ((), "checkpoint percent") == (found.slots, found.heard)


@pytest.mark.parametrize("hypotheses", [(), answers(""), answers("", "")])
def test_no_call_was_heard(hypotheses: tuple[Hypothesis, ...]) -> None:
    """Without an answer, or with answers without words, there is nothing to settle."""
    assert read_call(UTTERANCE, as_measured(Recognition(12, "typed", hypotheses)), LANGUAGE) is None


def test_the_order_of_the_answers_is_their_rank() -> None:
    """A list that comes out of order is put in order."""
    listed = answers("checkpoint six percent", "checkpoint five percent")
    found = read_call(UTTERANCE, as_measured(Recognition(12, "typed", listed[::-1])), LANGUAGE)

    assert found is not None
    assert Decimal(6) == found.slots[0].frame.value  # type: ignore[union-attr]


def test_a_number_with_more_digits_is_less_likely() -> None:
    """The words "thirty eight fifty seven" say 3857, and hardly ever 30857."""
    slot = call_of("checkpoint odometer thirty eight fifty seven").slots[0]

    assert [("odometer", "3857", "mi"), ("odometer", "30857", "mi")] == [
        each[:3] for each in option_values(slot.options)
    ]
    assert pytest.approx(TYPED * 0.05 / 1.05, abs=1e-4) == option_values(slot.options)[1][3]


def test_nobody_tells_a_quantity_twice_in_a_breath() -> None:
    """Of two answers that sound alike the one with two trips counts little."""
    slots = call_of(
        "checkpoint trip seven two miles left twenty two point two miles",
        "checkpoint two seven two miles left twenty two point two miles",
        scores=[0.0, -1.0],
    ).slots

    assert ["range_left", "trip"] == [
        slot.frame.quantity for slot in slots if isinstance(slot.frame, Reading)
    ]


def test_the_likeliest_make_up_is_the_frame() -> None:
    """Two answers that agree on what was read, if not on the value, outweigh a first one that has it otherwise."""
    slots = call_of(
        "checkpoint outside thirteen eighty six percent",
        "checkpoint thirty six percent",
        "checkpoint eighty six percent",
        scores=[0.0, -0.3, -0.4],
    ).slots

    assert ["charge"] == [slot.frame.quantity for slot in slots if isinstance(slot.frame, Reading)]
    assert [("charge", "86"), ("charge", "36")] == [each[:2] for each in option_values(slots[0].options)[:2]]


def test_a_call_may_be_reframed_by_what_fits() -> None:
    """The drive says which make-up it was: then its first answer is the frame, and weights stay as heard."""
    found = call_of("checkpoint outside eighteen", "checkpoint sixty eight percent", scores=[0.0, -3.0])
    fits = {"outside_temperature": -4.0, "charge": 3.0}
    (slot,) = reframed(found, lambda reading: fits[reading.quantity]).slots

    assert ("outside_temperature", "charge") == (
        found.slots[0].frame.quantity,  # type: ignore[union-attr]
        slot.frame.quantity,  # type: ignore[union-attr]
    )
    assert {("outside_temperature", "18", "degF"), ("charge", "68", "%")} == {
        each[:3] for each in option_values(slot.options)
    }
    assert ["charge"] == [option.part.quantity for option in slot.options if option.first]  # type: ignore[union-attr]


def test_a_call_in_the_right_make_up_is_left_as_it_is() -> None:
    """The same object, so that what was made of it need not be made again."""
    found = call_of("checkpoint outside eighteen", "checkpoint sixty eight percent", scores=[0.0, -3.0])

    assert found.found
    assert reframed(found, lambda _: 1.0) is found
