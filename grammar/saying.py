"""How people say a number: the usual ways, not all that the language understands."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

from grammar.words import ONES, TEENS, TENS, ZEROS

_ONE = {digit: word for word, digit in ONES.items()}
_DIGIT = {"0": "oh", **_ONE}
_TEEN = {digits: word for word, digits in TEENS.items()}
_TEN = {digit: word for word, digit in TENS.items()}
_NUMBER_WORDS = frozenset((*ONES, *ZEROS, *TEENS, *TENS, "point", "hundred", "thousand", "minus"))
_AFTER_A = frozenset(("hundred", "thousand"))
_MOST_DIGITS = 6
_DAY_MIN = 1440
_MOST_KEPT = 4096

Words = tuple[str, ...]


def number_words(words: Sequence[str]) -> slice:
    """Return where the number of a reading is among its words: the first of the longest runs of words that numbers are made of.

    >>> number_words("five point two kilowatt hours per hundred kilometers".split())
    slice(0, 3, None)
    """
    best = slice(0, 0)
    begin = 0
    for at in range(len(words) + 1):
        if at < len(words) and (
            words[at] in _NUMBER_WORDS
            or (words[at] == "and" and at > begin)
            or (words[at] == "a" and at + 1 < len(words) and words[at + 1] in _AFTER_A)
        ):
            continue
        if at - begin > best.stop - best.start:
            best = slice(begin, at)
        begin = at + 1
    return best


def ways_to_say(value: Decimal) -> tuple[Words, ...]:
    """Return how a number of up to six whole digits is usually said; nothing for a longer one.

    >>> [" ".join(words) for words in ways_to_say(Decimal("272"))]
    ['two seventy two', 'two hundred seventy two', 'two seven two']
    """
    return _ways(f"{value:f}") if value.is_finite() else ()


@lru_cache(_MOST_KEPT)
def _ways(written: str) -> tuple[Words, ...]:
    whole, _, decimals = written.removeprefix("-").partition(".")
    if len(whole) > _MOST_DIGITS:
        return ()
    before: Words = ("minus",) if written[0] == "-" else ()
    after: Words = ("point", *(_DIGIT[digit] for digit in decimals)) if decimals else ()
    wholes = _wholes(whole)
    if len(whole) > 1:
        wholes = (*wholes, tuple(_DIGIT[digit] for digit in whole))
    return tuple((*before, *words, *after) for words in dict.fromkeys(wholes))


@lru_cache(_MOST_KEPT)
def ways_to_say_time(minutes: int) -> tuple[Words, ...]:
    """Return how a time of day, in minutes after midnight, is usually said, without "a m" and "p m".

    >>> [" ".join(words) for words in ways_to_say_time(19 * 60 + 5)]
    ['seven oh five', 'nineteen oh five']
    """
    hour, minute = divmod(minutes % _DAY_MIN, 60)
    after = two_digits(minute)
    ways = [(*below_hundred(hour % 12 or 12), *(after if minute else ("o'clock",)))]
    if hour > 12:
        ways.append((*below_hundred(hour), *(after if minute else ("hundred",))))
    return tuple(ways)


def two_digits(minute: int) -> Words:
    """Return two digits as they are said after others: "oh five", "forty two"."""
    return ("oh", _ONE[str(minute)]) if 0 < minute < 10 else below_hundred(minute)


def below_hundred(number: int) -> Words:
    """Return a number from 0 to 99 in words."""
    digits = str(number)
    if len(digits) == 1:
        return (_ONE.get(digits, "zero"),)
    if digits in _TEEN:
        return (_TEEN[digits],)
    return (_TEN[digits[0]], *(() if digits[1] == "0" else (_ONE[digits[1]],)))


def _wholes(digits: str) -> tuple[Words, ...]:
    count = len(digits)
    if count <= 2:
        return (below_hundred(int(digits)),)
    if count == 3:
        return _pair(digits[0], digits[1:]), _hundreds(digits)
    large = _hundreds(digits[:-3]) if count == 6 else below_hundred(int(digits[:-3]))
    thousands = (*large, "thousand", *_rest(digits[-3:]))
    in_pairs = count == 4 and digits[1:] != "000"  # nobody says "twenty hundred"
    return (_pair(digits[:2], digits[2:]), thousands) if in_pairs else (thousands,)


def _rest(digits: str) -> Words:
    """Return what is said after "thousand" or "hundred": nothing for zeros."""
    number = int(digits)
    return () if not number else _hundreds(str(number)) if number > 99 else below_hundred(number)


def _hundreds(digits: str) -> Words:
    return (_ONE[digits[0]], "hundred", *_rest(digits[1:]))


def _pair(before: str, two: str) -> Words:
    """Return "two seventy two", "twelve oh eight", "two hundred"."""
    return (*below_hundred(int(before)), *(("hundred",) if two == "00" else two_digits(int(two))))
