"""Number words against num2words (PyPI), an outside oracle."""

from __future__ import annotations

from num2words import num2words

from grammar.words import ONES, TEENS, TENS


def test_number_words_are_num2words_own() -> None:
    """Each word stands for the number that num2words spells with it."""
    for word, digits in {**ONES, **TEENS}.items():
        assert word == num2words(int(digits))
    for word, digit in TENS.items():
        assert word == num2words(int(digit) * 10)
