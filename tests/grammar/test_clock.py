"""Times of day."""

from __future__ import annotations

from decimal import Decimal

import pytest

from grammar import Language, Phrasebook

LANGUAGE = Language(Phrasebook())


@pytest.mark.parametrize(
    ("words", "minutes"),
    [
        ("seven forty a m", {460}),
        ("time seven oh five p m", {1145}),
        ("time half past seven", {450, 1170}),
        ("time quarter to eight a m", {465}),
        ("time seventeen forty", {1060}),
        ("time oh seven forty", {460}),
        ("time twelve o'clock p m", {720}),
        ("time twelve o'clock a m", {0}),
        ("time seventeen hundred", {1020}),
    ],
)
def test_times_of_day(words: str, minutes: set[int]) -> None:
    """Minutes after midnight; both halves of the day are kept where none was said."""
    found = {m.readings[0].value for m in LANGUAGE.meanings(f"checkpoint {words}") if len(m.readings) == 1}

    assert {Decimal(minute) for minute in minutes} == found
