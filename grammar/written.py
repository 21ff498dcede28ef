"""What people type for what they would say: digits, unit symbols and clock times -> the words of the language.

    63%          six three percent
    97.2 mi      nine seven point two miles
    7:40 pm      seven forty p m
    07:40        oh seven forty

A typed number is put digit by digit, which the language understands in every place a number may stand, so that the
language alone decides what may be said. `Written.numbers` holds what the digits were, since words may mean more than one number.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from grammar.quantities import UNITS
from grammar.saying import below_hundred, two_digits
from grammar.spelling import spoken_words
from grammar.words import ONES

_DIGIT = {"0": "zero", **{text: word for word, text in ONES.items()}}
_CLOCK = re.compile(r"(?<![\d.:])(\d{1,2}):(\d\d)(?![\d:])")
_NUMBER = re.compile(r"([-\N{MINUS SIGN}]?)(\d+(?:[.,]\d+)?|[.,]\d+)")
_THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}(?!\d))")
"""No reading has three decimals, so this comma is none of a decimal fraction."""
_DEGREES = re.compile(r"(?<=\d)\s*(?:\N{DEGREE SIGN}|degrees?|deg)?\s*([cf])(?!\w)")


@dataclass(frozen=True, slots=True)
class Written:
    """A typed text as words of the language, with what was typed in digits: numbers in their order, and how many times of day."""

    words: tuple[str, ...]
    numbers: tuple[Decimal, ...]
    times: int = 0


def written_words(text: str) -> Written:
    """Return the words that a typed text stands for. Never raises: what is none of the language stays as it is.

    >>> written_words("63%, 97.2 mi").words
    ('six', 'three', 'percent', 'nine', 'seven', 'point', 'two', 'miles')
    """
    clean = f" {text.casefold()} "
    times = sum(_is_time(*found) for found in _CLOCK.findall(clean))
    clean = _CLOCK.sub(_clock_words, clean)
    numbers: list[Decimal] = []

    def words_of(match: re.Match[str]) -> str:
        sign, digits = match.group(1), match.group(2).replace(",", ".")
        whole, _, places = digits.partition(".")
        whole = whole.lstrip("0") or "0"
        numbers.append(Decimal(f"{'-' if sign else ''}{whole}{'.' if places else ''}{places}"))
        parts = ["minus"] if sign else []
        parts += [_DIGIT[digit] for digit in whole]
        if places:
            parts += ["point", *(_DIGIT[digit] for digit in places)]
        return f" {' '.join(parts)} "

    clean = _units_in_words(_THOUSANDS.sub("", clean))
    clean = _NUMBER.sub(words_of, clean)
    return Written(spoken_words(clean), tuple(numbers), times)


def _units_in_words(text: str) -> str:
    text = _DEGREES.sub(
        lambda match: " degrees celsius " if match.group(1) == "c" else " degrees fahrenheit ", text
    )
    text = text.replace("\N{DEGREE SIGN}", " degrees ")
    for symbol in sorted(UNITS, key=len, reverse=True):
        unit = UNITS[symbol]
        if unit.phrases:
            # Not inside a word, but directly behind a digit: 63%, 105mi.
            pattern = rf"(?<![^\W\d_]){re.escape(symbol.casefold())}(?![\w/])"
            text = re.sub(pattern, f" {unit.phrases[0]} ", text)
    return text


def _is_time(hour: str, minute: str) -> bool:
    return int(hour) < 24 and int(minute) < 60


def _clock_words(match: re.Match[str]) -> str:
    if not _is_time(*match.groups()):
        return match.group(0)
    hour, minute = int(match.group(1)), int(match.group(2))
    zero = match.group(1).startswith("0") and len(match.group(1)) > 1
    hours = ("oh", *(below_hundred(hour) if hour else ("oh",))) if zero else below_hundred(hour)
    if hour == 0 and not zero:
        hours = ("oh", "oh")
    if minute == 0:
        minutes: tuple[str, ...] = ("hundred",) if zero or hour > 12 or hour == 0 else ("o'clock",)
    else:
        minutes = two_digits(minute)
    return f" {' '.join((*hours, *minutes))} "
