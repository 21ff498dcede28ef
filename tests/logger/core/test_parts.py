"""Parts of a call's meanings by number: equal ones alike, and what is said of a whole meaning."""

from __future__ import annotations

from dataclasses import replace

from called_drives import LANGUAGE

from grammar import Meaning
from logger.core.parts import NumberedParts, digits


def test_equal_parts_have_one_number_wherever_they_stand() -> None:
    """The place in the phrase makes no difference, nor the words."""
    parts = NumberedParts()
    first, second, third = (
        parts.told(LANGUAGE.meanings(f"checkpoint {words}")[0])
        for words in ("six percent trip ninety", "trip nine zero six percent", "six percent trip ninety one")
    )

    assert (first[0], first[1]) == (second[1], second[0])
    assert first[0] == third[0]
    assert first[1] != third[1]
    assert ((("charge", "False"), ("trip", "False")), 0) == parts.made_of(first)
    assert parts.made_of(first) is parts.made_of(third)


def test_the_parts_of_many_calls_share_their_numbers() -> None:
    """Whether the objects are the same, some of them, or none."""
    parts = NumberedParts()
    sixty, both, ninety = (
        LANGUAGE.meanings(f"checkpoint {words}")[0]
        for words in ("sixty percent", "sixty percent trip ninety", "trip ninety")
    )
    again = Meaning(tuple(replace(part) for part in both.parts))

    assert (*parts.told(sixty), 1) == parts.told(both) == parts.told(both) == parts.told(again)
    assert parts.told(both)[1:] == parts.told(ninety)


def test_what_is_counted_of_a_meaning() -> None:
    """Digits that are written, a time of day left out; quantities that are told again."""
    parts = NumberedParts()
    meaning = LANGUAGE.meanings(
        "checkpoint sixty percent trip nine point five sixty one percent time seven a m"
    )[0]
    told = parts.told(meaning)

    assert 2 + 2 + 2 == digits(meaning)
    assert 1 == parts.made_of(told)[1]
    assert 0 == parts.made_of(told[:2])[1]
    assert ((("note", "rain"),), 0) == parts.made_of(parts.told(LANGUAGE.meanings("note rain")[0]))
