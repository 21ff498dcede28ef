"""What people type stands for words of the language, digit by digit."""

from __future__ import annotations

from decimal import Decimal

import pytest

from grammar import Language, Phrasebook, written_words

LANGUAGE = Language(Phrasebook())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("63%", "six three percent"),
        ("97.2 mi", "nine seven point two miles"),
        ("105mi", "one zero five miles"),
        ("0,5 km", "zero point five kilometers"),
        (".5 mi", "zero point five miles"),
        ("1,234 km", "one two three four kilometers"),
        ("007 km", "seven kilometers"),
        ("-4 \N{DEGREE SIGN}C", "minus four degrees celsius"),
        ("\N{MINUS SIGN}4C", "minus four degrees celsius"),
        ("40 F", "four zero degrees fahrenheit"),
        ("40\N{DEGREE SIGN}", "four zero degrees"),
        ("18.2 kWh/100km", "one eight point two kilowatt hours per hundred kilometers"),
        ("3.4 mi/kWh", "three point four miles per kilowatt hour"),
        ("212 Wh/mi", "two one two watt hours per mile"),
        ("66 mph", "six six miles per hour"),
        ("90 km/h", "nine zero kilometers per hour"),
        ("7:40 pm", "seven forty p m"),
        ("7:05", "seven oh five"),
        ("07:40", "oh seven forty"),
        ("00:30", "oh oh thirty"),
        ("0:30", "oh oh thirty"),
        ("19:00", "nineteen hundred"),
        ("7:00", "seven o'clock"),
        ("24:00", "two four zero"),
        ("one oh five", "one oh five"),
        ("Sixty-three per cent", "sixty three percent"),
        ("nothing of ours <b>", "nothing of ours <b>"),
        ("", ""),
    ],
)
def test_words(text: str, words: str) -> None:
    """A number is put digit by digit, symbols become the words for them, the rest stays."""
    assert words == " ".join(written_words(text).words)


def test_numbers() -> None:
    """The digits typed are kept as they were, but for zeros before them."""
    assert (Decimal("63.0"), Decimal(7), Decimal(-4)) == written_words("63.0 007 -4").numbers
    assert "63.0" == str(written_words("63.0").numbers[0])
    assert ((), 1) == ((found := written_words("one oh five, 7:40")).numbers, found.times)
    assert 0 == written_words("24:10").times


@pytest.mark.parametrize("minutes", range(0, 1440, 7))
def test_every_time_of_day_is_understood(minutes: int) -> None:
    """HH:MM with two digits each is the 24-hour clock, one meaning each."""
    text = f"time {minutes // 60:02d}:{minutes % 60:02d}"
    meanings = LANGUAGE.meanings(("checkpoint", *written_words(text).words))

    assert minutes in [int(meaning.readings[0].value) for meaning in meanings]
    if not 10 <= minutes // 60 <= 12:
        assert 1 == len(meanings)


@pytest.mark.parametrize("value", ["0", "7", "10", "99", "100", "105.0", "999.9", "340", "207.5"])
def test_every_number_is_understood(value: str) -> None:
    """Digit by digit a trip has one meaning: itself, with its decimals."""
    meanings = LANGUAGE.meanings(("checkpoint", *written_words(f"trip {value} km").words))

    assert value in [str(meaning.readings[0].value) for meaning in meanings]
