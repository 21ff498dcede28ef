"""Typed words as JSON lines."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest

from grammar import Language, Phrasebook
from logger.wiring.saying import meaning_lines


@pytest.fixture(scope="module")
def language() -> Language:
    """The default language."""
    return Language(Phrasebook())


@pytest.mark.parametrize(
    ("words", "lines"),
    [
        ("checkpoint sixty three percent", ['{"quantity": "charge", "value": 63, "unit": "%"}']),
        ("checkpoint sixty three point oh miles", ['{"quantity": "trip", "value": 63.0, "unit": "mi"}']),
        (
            "checkpoint minus four degrees outside, eighty one percent",
            [
                '{"quantity": "outside_temperature", "value": -4, "unit": "degF"}',
                '{"quantity": "charge", "value": 81, "unit": "%"}',
            ],
        ),
        (
            "correction sixty four percent",
            ['{"quantity": "charge", "value": 64, "unit": "%", "correction": true}'],
        ),
        ("note headwind", ['{"command": "note", "note": "headwind"}']),
        ("strike that", ['{"command": "strike"}']),
        ("what a lovely day", []),
        ("sixty three percent", []),
        ("", []),
    ],
)
def test_words_and_their_lines(words: str, lines: list[str], language: Language) -> None:
    """Each reading and command is one line; what was said keeps its decimals; other words give none."""
    assert lines == list(meaning_lines(language, words))


def test_several_meanings_are_numbered(language: Language) -> None:
    """Words with more than one meaning give each, and lines of one number belong together."""
    found = [
        json.loads(line, parse_float=Decimal)
        for line in meaning_lines(language, "checkpoint time seven forty")
    ]

    assert [1, 2] == [each["meaning"] for each in found]
    assert {460, 1180} == {each["value"] for each in found}
