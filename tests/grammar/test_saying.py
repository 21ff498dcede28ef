"""Numbers in words, held against num2words (PyPI) and against what the language understands by them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from num2words import num2words

from grammar import Language, Phrasebook, number_words, ways_to_say, ways_to_say_time

LANGUAGE = Language(Phrasebook())
NUMBERS = [*range(1000), *range(1000, 10_000, 7), *range(10_000, 1_000_000, 9_973)]


def as_num2words(value: Decimal) -> str:
    """The cardinal of a reference library, written as recognisers write."""
    return num2words(value).replace("-", " ").replace(",", "").replace(" and ", " ")


def test_one_way_is_the_cardinal() -> None:
    """For whole numbers of up to six digits and decimals; num2words says "zero" where drivers say "oh"."""
    for number in NUMBERS:
        assert as_num2words(Decimal(number)) in {" ".join(way) for way in ways_to_say(Decimal(number))}
    for tenths in (each for each in range(0, 10_000, 13) if each % 10):  # it has no word for 5.0
        value = Decimal(tenths).scaleb(-1)
        ways = {" ".join(way).replace("point oh", "point zero") for way in ways_to_say(value)}
        assert as_num2words(value) in ways


def test_every_way_means_the_number() -> None:
    """The language understands each as what it was made of, among what else it may mean."""
    for number in NUMBERS:
        for way in ways_to_say(Decimal(number)):
            meanings = LANGUAGE.meanings(("checkpoint", "odometer", *way, "miles"))
            assert number in {meaning.readings[0].value for meaning in meanings}, way
    for tenths in range(0, 10_000, 13):
        value = Decimal(tenths).scaleb(-1)
        for way in ways_to_say(value):
            meanings = LANGUAGE.meanings(("checkpoint", "trip", *way, "miles"))
            assert str(value) in {str(meaning.readings[0].value) for meaning in meanings}, way


def test_decimals_are_said_as_they_are_shown() -> None:
    """44.0 on a dash is said otherwise than 44."""
    assert ("forty", "four") in ways_to_say(Decimal(44))
    assert ("forty", "four", "point", "oh") in ways_to_say(Decimal("44.0"))
    assert ("minus", "seven") in ways_to_say(Decimal(-7))


def test_every_way_means_the_time() -> None:
    """All 1,440 minutes of a day, said by themselves."""
    for minutes in range(1440):
        for way in ways_to_say_time(minutes):
            meanings = LANGUAGE.meanings(("checkpoint", "time", *way))
            assert minutes in {meaning.readings[0].value for meaning in meanings}, way


@pytest.mark.parametrize("value", ["NaN", "Infinity", "1234567", "-1234567.8"])
def test_what_nobody_says(value: str) -> None:
    """No number, and one longer than any on a dash, have no words."""
    assert () == ways_to_say(Decimal(value))


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("sixty three percent", "sixty three"),
        ("trip one hundred and five point two miles", "one hundred and five point two"),
        ("eighteen point one kilowatt hours per hundred kilometers", "eighteen point one"),
        ("outside minus seven", "minus seven"),
        ("note headwind", ""),
        ("and five", "five"),
        ("odometer a thousand and five miles", "a thousand and five"),
        ("five a m", "five"),
    ],
)
def test_where_the_number_is(text: str, number: str) -> None:
    """The first of the longest runs of words that numbers are made of."""
    words = text.split()

    assert number == " ".join(words[number_words(words)])
