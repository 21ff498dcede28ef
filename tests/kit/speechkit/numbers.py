"""Numbers as people say them, each style written out from the digits, without looking at `grammar`.

The cardinal style comes from num2words, a library that knows nothing of ours; the others are stated here:

| style | 207 | 153.6 | 12421 |
|---|---|---|---|
| cardinal | two hundred seven | one hundred fifty three point six | twelve thousand four hundred twenty one |
| cardinal_and | two hundred and seven | one hundred and fifty three ... | ... four hundred and twenty one |
| a_hundred | (of 107) a hundred and seven | a hundred fifty three point six | |
| paired | two oh seven | one fifty three point six | twelve four twenty one |
| digits | two oh seven | one five three point six | one two four two one |
| half | (of 97.5) ninety seven and a half | | |

Zeros inside digit strings are "oh" or "zero", at random. Decimals are always said one by one.
"""

from __future__ import annotations

import random
from decimal import Decimal
from enum import StrEnum

from num2words import num2words  # type: ignore[import-untyped]

ONES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


class Style(StrEnum):
    """A way to say a number."""

    CARDINAL = "cardinal"
    CARDINAL_AND = "cardinal_and"
    A_HUNDRED = "a_hundred"
    PAIRED = "paired"
    DIGITS = "digits"
    HALF = "half"


def styles_of(value: Decimal) -> tuple[Style, ...]:
    """Return the styles in which `value` sounds different from plain cardinal, and cardinal itself."""
    whole = int(abs(value))
    found = [Style.CARDINAL]
    if whole >= 100 and "and" in _cardinal(whole).split():
        found.append(Style.CARDINAL_AND)
    if 100 <= whole <= 199:
        found.append(Style.A_HUNDRED)
    if _paired(whole, "oh") is not None:
        found.append(Style.PAIRED)
    if whole >= 10:
        found.append(Style.DIGITS)
    if _decimals(value) == "5":
        found.append(Style.HALF)
    return tuple(found)


def spoken(value: Decimal, style: Style, rng: random.Random) -> str:
    """Return the words of `value` in a style.

    Decimals are said as written: 63.0 is "sixty three point zero".

    Raises:
        ValueError: the value cannot be said in that style.
    """
    if style not in styles_of(value):
        raise ValueError(f"{value} cannot be said in the style {style}")
    whole, decimals = int(abs(value)), _decimals(value)
    zero = rng.choice(("oh", "zero"))
    words = ["minus"] if value.is_signed() else []
    if style is Style.HALF:
        words += ["half a"] if whole == 0 else [_without_and(_cardinal(whole)), "and a half"]
        return " ".join(words)
    words.append(_whole(whole, style, zero))
    if decimals:
        words.append("point")
        words += [zero if digit == "0" else ONES[int(digit)] for digit in decimals]
    return " ".join(words)


def _decimals(value: Decimal) -> str:
    return format(value, "f").partition(".")[2]


def _whole(whole: int, style: Style, zero: str) -> str:
    cardinal = _cardinal(whole)
    match style:
        case Style.CARDINAL_AND:
            return cardinal
        case Style.A_HUNDRED:
            return "a" + _without_and(cardinal).removeprefix("one") if zero == "oh" else "a" + cardinal[3:]
        case Style.PAIRED:
            paired = _paired(whole, "oh")
            assert paired is not None
            return paired
        case Style.DIGITS:
            return " ".join(zero if digit == "0" else ONES[int(digit)] for digit in str(whole))
        case _:
            return _without_and(cardinal)


def _cardinal(whole: int) -> str:
    """Return num2words' British form without its hyphens and commas: "two hundred and seven"."""
    return str(num2words(whole)).replace("-", " ").replace(",", "")


def _without_and(words: str) -> str:
    return " ".join(word for word in words.split() if word != "and")


def _pair(value: int, zero: str) -> str | None:
    """Return a pair of digits as said inside a longer number; 00 is not said as a pair."""
    if value == 0:
        return None
    return f"{zero} {ONES[value]}" if value < 10 else _cardinal(value)


def _paired(whole: int, zero: str) -> str | None:
    """Return the number said in pairs from its end, or None where nobody would."""
    text = str(whole)
    if not 3 <= len(text) <= 6:
        return None
    if len(text) == 5:
        # An odometer's five digits go two, one, two ("twelve four twenty one"), or two, three as "oh forty five".
        first, hundreds, last = int(text[:2]), int(text[2]), _pair(int(text[3:]), zero)
        if last is None:
            return None
        if hundreds == 0:
            return f"{_cardinal(first)} {zero} {last}" if int(text[3:]) >= 10 else None
        return f"{_cardinal(first)} {ONES[hundreds]} {last}"
    odd = len(text) % 2
    first_words = ONES[int(text[0])] if odd else _cardinal(int(text[:2]))
    rest = text[1:] if odd else text[2:]
    pairs = [_pair(int(rest[at : at + 2]), zero) for at in range(0, len(rest), 2)]
    said = [pair for pair in pairs if pair is not None]
    return " ".join((first_words, *said)) if len(said) == len(pairs) else None
