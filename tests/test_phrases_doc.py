"""docs/phrases.md is what the grammar says, and says what a person expects."""

from __future__ import annotations

import re
from decimal import Decimal

import phrases_page
import pytest
from num2words import num2words

from grammar import NOTE_KINDS, Language, Phrasebook, card, default_quantities

PAGE = phrases_page.PATH.read_text(encoding="utf-8")
ROWS = dict(
    re.findall(
        r"^\| ((?:checkpoint|correction|note|strike|say|how|sixty) [^|]+) \| ([^|]+) \|$", PAGE, re.MULTILINE
    )
)


def test_the_page_is_current() -> None:
    """docs/phrases.md is what `python tests/kit/phrases_page.py` writes."""
    assert phrases_page.page() == PAGE


@pytest.mark.parametrize(
    ("phrase", "meaning"),
    [
        ("checkpoint one oh nine miles left", "range_left 109 mi"),
        ("checkpoint trip one fifty three point six", "trip 153.6 mi"),
        ("checkpoint trip sixty three point oh", "trip 63.0 mi"),
        ("checkpoint outside four degrees below zero", "outside_temperature -4 degF"),
        ("checkpoint time quarter to eight p m", "clock 1185 min"),
        ("checkpoint time seven forty", "clock 1180 min, or clock 460 min"),
        ("correction sixty four percent", "correction: charge 64 %"),
        ("checkpoint a hundred and one percent", "nothing"),
        ("sixty three percent", "nothing"),
    ],
)
def test_a_row_says_what_a_person_expects(phrase: str, meaning: str) -> None:
    """Rows written out by hand are on the page as a person would read them."""
    assert meaning == ROWS[phrase]


def test_cardinals_agree_with_num2words() -> None:
    """Where a phrase says one trip, odometer or charge as a cardinal, num2words says that value the same way."""
    agreed = 0
    for phrase, meaning in ROWS.items():
        found = re.fullmatch(r"(?:trip|odometer|charge) ([\d.]+) \S+", meaning)
        if found is None:
            continue
        words = num2words(Decimal(found[1])).replace("-", " ").replace(",", "")
        agreed += f" {words}" in phrase

    assert agreed >= 5


def test_the_page_has_the_card_and_every_quantity_and_note() -> None:
    """The card is there as `odovox phrases` prints it; each quantity has a row of keywords; each note is named."""
    indented = [line[4:] for line in PAGE.splitlines() if line.startswith("    ")]

    assert [line for line in card(Phrasebook()).splitlines() if line] == indented
    for quantity in default_quantities():
        assert f"| `{quantity.name}` | " in PAGE
        assert any(f"{quantity.name} " in meaning for meaning in ROWS.values())
    assert all(kind in PAGE for kind in NOTE_KINDS)


def test_what_is_said_to_mean_something_is_in_the_language() -> None:
    """The automaton that recognisers get takes every phrase with a meaning, and none that means nothing."""
    automaton = Language(Phrasebook()).automaton

    for phrase, meaning in ROWS.items():
        assert (meaning != "nothing") == automaton.accepts(phrase.split()), phrase
