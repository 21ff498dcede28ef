"""From a recogniser's list of answers to what a call may have been."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
from called_drives import LANGUAGE, answers
from hypothesis import given
from hypothesis import strategies as st

from grammar import Command, Language, Reading
from logger.core.calibration import Calibration
from logger.core.candidates import Call, Option, as_measured, candidates, read_call, reframed, weights
from logger.model import Hypothesis, Recognition, Utterance

UTTERANCE = Utterance(12, 1, 0, 96_000, 5_000_000_000, "clips/12.flac")


def call(*lines: str, scores: list[float | None] | None = None, language: Language = LANGUAGE) -> Call:
    """What an utterance with these answers may have said."""
    found = read_call(
        UTTERANCE, as_measured(Recognition(12, "typed", answers(*lines, scores=scores))), language
    )
    assert found is not None
    return found


def values(options: tuple[Option, ...]) -> list[tuple[str, str, str, float]]:
    """Quantity, value, unit and weight of each option that is a reading."""
    return [
        (option.part.quantity, str(option.part.value), option.part.unit, round(option.weight, 4))
        for option in options
        if isinstance(option.part, Reading)
    ]


HONEST = Calibration(1.0, 0.0)
TYPED = 0.999
"""What is left for the answers of the typed recogniser: one in a thousand has the truth in none of them."""


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
    slot = call("checkpoint time seven forty").slots[0]

    assert {("clock", "460", "min", 0.4995), ("clock", "1180", "min", 0.4995)} == set(values(slot.options))
    assert all(option.first for option in slot.options)


def test_a_meaning_with_more_readings_is_less_likely() -> None:
    """An odometer is hardly ever cut short to make room for a trip, but it may be."""
    slot = call("checkpoint odometer twelve thousand three hundred kilometers").slots[0]

    assert [("odometer", "12300", "km"), ("odometer", "12000", "mi")] == [
        each[:3] for each in values(slot.options)
    ]
    assert pytest.approx(TYPED * 0.02 / 1.02, abs=1e-4) == values(slot.options)[1][3]


def test_better_answers_outside_the_language_keep_their_weight() -> None:
    """What may have been no call at all makes the rest less likely."""
    slot = call("checkpoint hello", "checkpoint six percent", scores=[0.0, 0.0]).slots[0]

    assert [("charge", "6", "%", 0.4995)] == values(slot.options)


def test_worse_answers_outside_the_language_have_no_weight() -> None:
    """Once the recogniser's answer is a call, garbled variants of it are none."""
    slot = call("checkpoint six percent", "checkpoint six percent [unk]", scores=[0.0, 0.0]).slots[0]

    assert [("charge", "6", "%", TYPED)] == values(slot.options)


def test_slots_are_numbered_and_placed() -> None:
    """Each reading of a call has its place from 1 and the time of its own first word."""
    slots = call("checkpoint sixty three percent ninety seven point two miles").slots

    assert ["12-1", "12-2"] == [slot.id for slot in slots]
    # words are 0.4 s each; "sixty" is the second, "ninety" the fifth
    assert [5_400_000_000, 6_600_000_000] == [slot.at_ns for slot in slots]
    assert ["sixty three percent", "ninety seven point two miles"] == [
        slot.options[0].heard for slot in slots
    ]


def test_alternatives_are_laid_beside_the_first_answers_readings() -> None:
    """Each reading gets what stands in its place in the other answers, with the weights of those."""
    slots = call(
        "checkpoint sixty three percent ninety seven point two miles",
        "checkpoint sixty percent ninety seven point two miles",
        "checkpoint sixty three percent seventy nine point two miles",
        scores=[math.log(0.5), math.log(0.3), math.log(0.2)],
    ).slots

    assert [("charge", "63", "%", 0.6993), ("charge", "60", "%", 0.2997)] == values(slots[0].options)
    assert [("trip", "97.2", "mi", 0.7992), ("trip", "79.2", "mi", 0.1998)] == values(slots[1].options)


def test_a_lost_or_added_reading_does_not_shift_the_others() -> None:
    """An answer that lacks a reading, or has one more, still gives the rest to the right places."""
    slots = call(
        "checkpoint sixty three percent indicated sixty ninety seven point two miles",
        "checkpoint sixty three percent ninety nine point two miles",
        "checkpoint sixty three percent indicated sixty eleven miles left ninety seven point two miles",
        scores=[0.0, 0.0, 0.0],
    ).slots

    assert [
        pytest.approx(TYPED, abs=1e-4),
        pytest.approx(TYPED * 2 / 3, abs=1e-4),
        pytest.approx(TYPED, abs=1e-4),
    ] == [sum(weight for *_, weight in values(slot.options)) for slot in slots]
    assert [("trip", "97.2", "mi", 0.666), ("trip", "99.2", "mi", 0.333)] == values(slots[2].options)


def test_another_quantity_may_stand_in_the_same_place() -> None:
    """Miles and miles left are two quantities for one place."""
    slot = call("checkpoint one oh nine miles", "checkpoint one oh nine miles left").slots[0]

    assert ["trip", "range_left"] == [quantity for quantity, *_ in values(slot.options)]


def test_commands_have_their_places_too() -> None:
    """A note in the same breath as a reading is the call's second part."""
    slots = call("checkpoint sixty percent note headwind").slots

    assert isinstance(slots[1].frame, Command)
    assert ("12-2", "headwind") == (slots[1].id, slots[1].frame.text)


def test_a_call_without_a_meaning_keeps_its_words() -> None:
    """Nothing that was said vanishes."""
    found = call("checkpoint percent", "checkpoint miles")

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
    slot = call("checkpoint odometer thirty eight fifty seven").slots[0]

    assert [("odometer", "3857", "mi"), ("odometer", "30857", "mi")] == [
        each[:3] for each in values(slot.options)
    ]
    assert pytest.approx(TYPED * 0.05 / 1.05, abs=1e-4) == values(slot.options)[1][3]


def test_nobody_tells_a_quantity_twice_in_a_breath() -> None:
    """Of two answers that sound alike the one with two trips counts little."""
    slots = call(
        "checkpoint trip seven two miles left twenty two point two miles",
        "checkpoint two seven two miles left twenty two point two miles",
        scores=[0.0, -1.0],
    ).slots

    assert ["range_left", "trip"] == [
        slot.frame.quantity for slot in slots if isinstance(slot.frame, Reading)
    ]


def test_the_likeliest_make_up_is_the_frame() -> None:
    """Two answers that agree on what was read, if not on the value, outweigh a first one that has it otherwise."""
    slots = call(
        "checkpoint outside thirteen eighty six percent",
        "checkpoint thirty six percent",
        "checkpoint eighty six percent",
        scores=[0.0, -0.3, -0.4],
    ).slots

    assert ["charge"] == [slot.frame.quantity for slot in slots if isinstance(slot.frame, Reading)]
    assert [("charge", "86"), ("charge", "36")] == [each[:2] for each in values(slots[0].options)[:2]]


def test_a_call_may_be_reframed_by_what_fits() -> None:
    """The drive says which make-up it was: then its first answer is the frame, and weights stay as heard."""
    found = call("checkpoint outside eighteen", "checkpoint sixty eight percent", scores=[0.0, -3.0])
    fits = {"outside_temperature": -4.0, "charge": 3.0}
    (slot,) = reframed(found, lambda reading: fits[reading.quantity]).slots

    assert ("outside_temperature", "charge") == (
        found.slots[0].frame.quantity,  # type: ignore[union-attr]
        slot.frame.quantity,  # type: ignore[union-attr]
    )
    assert {("outside_temperature", "18", "degF"), ("charge", "68", "%")} == {
        each[:3] for each in values(slot.options)
    }
    assert ["charge"] == [option.part.quantity for option in slot.options if option.first]  # type: ignore[union-attr]


PHRASES = st.sampled_from(
    [
        "checkpoint six percent",
        "checkpoint six percent seven miles",
        "checkpoint seven miles six percent note rain",
        "correction six percent",
        "strike that",
        "checkpoint time ten past",
        "checkpoint time ten ten",
        "checkpoint outside six degrees seven miles left",
        "",
    ]
)


@given(st.lists(PHRASES, min_size=1, max_size=8))
def test_weights_of_a_place_never_add_up_to_more_than_1(lines: list[str]) -> None:
    """Whatever the answers: shares of each slot are a part of the whole, and slots are numbered from 1."""
    found = read_call(UTTERANCE, as_measured(Recognition(12, "typed", answers(*lines))), LANGUAGE)

    if found is not None:
        assert list(range(1, len(found.slots) + 1)) == [slot.position for slot in found.slots]
        for slot in found.slots:
            assert sum(option.weight for option in slot.options) <= 1.0 + 1e-9
            assert any(option.first for option in slot.options)
