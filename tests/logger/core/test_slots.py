"""The meanings of a call laid beside each other."""

from __future__ import annotations

import math

import pytest
from called_drives import LANGUAGE, TYPED, UTTERANCE, answers, call_of, option_values
from hypothesis import given
from hypothesis import strategies as st

from grammar import Command
from logger.core.candidates import as_measured, read_call
from logger.model import Recognition


def test_slots_are_numbered_and_placed() -> None:
    """Each reading of a call has its place from 1 and the time of its own first word."""
    slots = call_of("checkpoint sixty three percent ninety seven point two miles").slots

    assert ["12-1", "12-2"] == [slot.id for slot in slots]
    # words are 0.4 s each; "sixty" is the second, "ninety" the fifth
    assert [5_400_000_000, 6_600_000_000] == [slot.at_ns for slot in slots]
    assert ["sixty three percent", "ninety seven point two miles"] == [
        slot.options[0].heard for slot in slots
    ]


def test_alternatives_are_laid_beside_the_first_answers_readings() -> None:
    """Each reading gets what stands in its place in the other answers, with the weights of those."""
    slots = call_of(
        "checkpoint sixty three percent ninety seven point two miles",
        "checkpoint sixty percent ninety seven point two miles",
        "checkpoint sixty three percent seventy nine point two miles",
        scores=[math.log(0.5), math.log(0.3), math.log(0.2)],
    ).slots

    assert [("charge", "63", "%", 0.6993), ("charge", "60", "%", 0.2997)] == option_values(slots[0].options)
    assert [("trip", "97.2", "mi", 0.7992), ("trip", "79.2", "mi", 0.1998)] == option_values(slots[1].options)


def test_a_lost_or_added_reading_does_not_shift_the_others() -> None:
    """An answer that lacks a reading, or has one more, still gives the rest to the right places."""
    slots = call_of(
        "checkpoint sixty three percent indicated sixty ninety seven point two miles",
        "checkpoint sixty three percent ninety nine point two miles",
        "checkpoint sixty three percent indicated sixty eleven miles left ninety seven point two miles",
        scores=[0.0, 0.0, 0.0],
    ).slots

    assert [
        pytest.approx(TYPED, abs=1e-4),
        pytest.approx(TYPED * 2 / 3, abs=1e-4),
        pytest.approx(TYPED, abs=1e-4),
    ] == [sum(weight for *_, weight in option_values(slot.options)) for slot in slots]
    assert [("trip", "97.2", "mi", 0.666), ("trip", "99.2", "mi", 0.333)] == option_values(slots[2].options)


def test_another_quantity_may_stand_in_the_same_place() -> None:
    """Miles and miles left are two quantities for one place."""
    slot = call_of("checkpoint one oh nine miles", "checkpoint one oh nine miles left").slots[0]

    assert ["trip", "range_left"] == [quantity for quantity, *_ in option_values(slot.options)]


def test_commands_have_their_places_too() -> None:
    """A note in the same breath as a reading is the call's second part."""
    slots = call_of("checkpoint sixty percent note headwind").slots

    assert isinstance(slots[1].frame, Command)
    assert ("12-2", "headwind") == (slots[1].id, slots[1].frame.text)


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
