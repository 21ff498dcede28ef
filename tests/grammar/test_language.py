"""The language made ready: meanings, automata, phrase list, JSGF."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grammar import Language, Phrasebook

LANGUAGE = Language(Phrasebook())
WORDS = sorted(LANGUAGE.vocabulary)


@pytest.mark.parametrize(
    ("words", "readings"),
    [
        (
            "checkpoint sixty three percent ninety seven point two miles three point four miles per kilowatt hour",
            [("charge", "63", "%"), ("trip", "97.2", "mi"), ("efficiency", "3.4", "mi/kWh")],
        ),
        (
            "checkpoint forty one percent one fifty three point eight miles one oh nine miles left",
            [("charge", "41", "%"), ("trip", "153.8", "mi"), ("range_left", "109", "mi")],
        ),
        (
            "checkpoint outside minus four degrees indicated sixty seven",
            [("outside_temperature", "-4", "degF"), ("indicated_speed", "67", "mph")],
        ),
    ],
)
def test_calls_of_the_design(words: str, readings: list[tuple[str, str, str]]) -> None:
    """The design's own examples mean what it says they mean."""
    (meaning,) = LANGUAGE.meanings(words)

    assert [(q, Decimal(v), u) for q, v, u in readings] == [
        (r.quantity, r.value, r.unit) for r in meaning.readings
    ]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=8))
def test_automaton_and_matcher_agree(words: list[str]) -> None:
    """What the recogniser may hear is exactly what has a meaning."""
    assert LANGUAGE.automaton.accepts(words) == bool(LANGUAGE.meanings(words))


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60))
def test_no_text_raises(text: str) -> None:
    """Whatever is typed gives meanings or none."""
    assert isinstance(LANGUAGE.meanings(text), tuple)


def test_a_language_that_remembers_means_the_same_and_works_each_phrase_out_once() -> None:
    """Also as text and as words, and it leaves the one it was made of as it was."""
    remembering = LANGUAGE.remembering()
    words = ["checkpoint", "sixty", "three", "percent"]

    (meaning,) = remembering.meanings(words)

    assert meaning is remembering.meanings(" ".join(words))[0]
    assert meaning == LANGUAGE.meanings(words)[0]
    assert meaning is not LANGUAGE.meanings(words)[0]
    assert () == remembering.meanings("sixty three monkeys")
