"""Words to meanings: ambiguity kept, positions right."""

from __future__ import annotations

from decimal import Decimal

from grammar import CommandKind, Language, Phrasebook
from grammar.readings import Command, Reading

LANGUAGE = Language(Phrasebook())


def test_a_clock_time_without_its_half_has_two_meanings() -> None:
    """It is 7:40 and 19:40: 460 and 1180 minutes after midnight."""
    values = {meaning.readings[0].value for meaning in LANGUAGE.meanings("checkpoint time seven forty")}

    assert {Decimal(460), Decimal(1180)} == values


def test_each_part_knows_its_words() -> None:
    """First and end word of each part, the lead word belonging to none."""
    (meaning,) = LANGUAGE.meanings("checkpoint six percent note rain")

    assert [(1, 3), (3, 5)] == [(part.first_word, part.end_word) for part in meaning.parts]
    assert Command(CommandKind.NOTE, "rain") == meaning.parts[1]


def test_a_correction_marks_its_readings_only() -> None:
    """A checkpoint after a correction in one breath is no correction."""
    (meaning,) = LANGUAGE.meanings("correction six percent checkpoint nine percent")

    assert [True, False] == [part.correction for part in meaning.parts if isinstance(part, Reading)]


def test_words_outside_give_nothing() -> None:
    """Never a guess."""
    assert () == LANGUAGE.meanings("checkpoint sixty elephants percent")
    assert () == LANGUAGE.meanings("")
