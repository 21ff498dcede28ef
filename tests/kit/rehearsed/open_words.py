"""Readings in the words of an open vocabulary: numbers by the library text2num, quantities by the words around them.

This is what one can do without a grammar: no list of answers, no weights. It knows the sheet's units and limits, how
numbers are said in pairs and digit by digit ("one oh four"), and words that sound like numbers ("to", "for", "or").
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from text_to_num import alpha2digit  # type: ignore[import-untyped]

from rehearsed.records import SaidReading

_SOUNDS_LIKE = {
    "oh": "zero",
    "o": "zero",
    "or": "zero",
    "to": "two",
    "too": "two",
    "for": "four",
    "won": "one",
    "ate": "eight",
}
_NOT_ALONE = {"or", "to", "too", "for", "won", "ate"}
"""Taken for numbers only before a number."""
_NUMBER_WORD = re.compile(
    r"zero|oh|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\w+teen|(twen|thir|for|fif|six|seven|eigh|nine)ty"
)
_NUMBER = re.compile(r"\d+(\.\d+)?")
_NEAR = 2
"""A keyword tells the quantity of the next number, at most so many words later."""

# What follows a number, longest first: the words, the quantity, the unit in a sheet of miles and of kilometres.
_UNITS: tuple[tuple[str, str, tuple[str, str]], ...] = (
    ("kilowatt hours per 100 kilometers", "efficiency", ("kWh/100km", "kWh/100km")),
    ("kilowatt hours per 100", "efficiency", ("kWh/100km", "kWh/100km")),
    ("miles per kilowatt hour", "efficiency", ("mi/kWh", "mi/kWh")),
    ("kilometers per kilowatt hour", "efficiency", ("km/kWh", "km/kWh")),
    ("watt hours per mile", "efficiency", ("Wh/mi", "Wh/mi")),
    ("watt hours per kilometer", "efficiency", ("Wh/km", "Wh/km")),
    ("miles per hour", "indicated_speed", ("mph", "mph")),
    ("kilometers per hour", "indicated_speed", ("km/h", "km/h")),
    ("miles left", "range_left", ("mi", "mi")),
    ("kilometers left", "range_left", ("km", "km")),
    ("miles", "trip", ("mi", "mi")),
    ("mile", "trip", ("mi", "mi")),
    ("kilometers", "trip", ("km", "km")),
    ("kilowatt hours", "energy_used", ("kWh", "kWh")),
    ("percent", "charge", ("%", "%")),
    ("degrees celsius", "outside_temperature", ("degC", "degC")),
    ("degrees fahrenheit", "outside_temperature", ("degF", "degF")),
    ("degrees", "outside_temperature", ("degF", "degC")),
    ("a m", "clock", ("min", "min")),
    ("p m", "clock", ("min", "min")),
)  # fmt: skip
# What stands before a number: the word, the quantity, its unit where none follows.
_KEYWORDS: dict[str, tuple[str, tuple[str, str]]] = {
    "trip": ("trip", ("mi", "km")),
    "odometer": ("odometer", ("mi", "km")),
    "range": ("range_left", ("mi", "km")),
    "efficiency": ("efficiency", ("mi/kWh", "kWh/100km")),
    "energy": ("energy_used", ("kWh", "kWh")),
    "outside": ("outside_temperature", ("degF", "degC")),
    "battery": ("battery_temperature", ("degF", "degC")),
    "indicated": ("indicated_speed", ("mph", "km/h")),
    "time": ("clock", ("min", "min")),
}
_MOST = {
    "charge": 100,
    "trip": 999,
    "odometer": 999_999,
    "range_left": 999,
    "energy_used": 199,
    "efficiency": 999,
    "clock": 1259,
}
_MOST_OTHER = 199


@dataclass(frozen=True, slots=True)
class _Run:
    """Numbers in a row: their digits as written, and the words before and after."""

    numbers: tuple[str, ...]
    before: Sequence[str]
    after: Sequence[str]


def parsed(text: str, system: str) -> list[SaidReading]:
    """Return the readings in a text, in the order said, for a sheet in "miles" or "metric" units."""
    metric = int(system == "metric")
    found: list[SaidReading] = []
    for run in _runs(_in_digits(text)):
        keyword = next((_KEYWORDS[word] for word in reversed(run.before) if word in _KEYWORDS), None)
        words = " ".join(run.after)
        unit = next((each for each in _UNITS if f"{words} ".startswith(f"{each[0]} ")), None)
        if unit is None:
            if keyword is not None:
                found += _reading(keyword[0], run.numbers, keyword[1][metric], run)
            continue
        quantity, numbers = unit[1], run.numbers
        if keyword is not None and _same_kind(keyword[0], unit):
            quantity, keyword = keyword[0], None
        # A keyword of another quantity has a number of its own before this one, or belongs to what came before.
        least = int(keyword is not None and len(numbers) > 1)
        cut = next((at for at in range(least, len(numbers)) if _value(numbers[at:]) <= _most(quantity)), None)
        if cut is None:
            continue
        if keyword is not None and cut:
            found += _reading(keyword[0], numbers[:cut], keyword[1][metric], run)
        found += _reading(quantity, numbers[cut:], unit[2][metric], run)
    return found


def _same_kind(quantity: str, unit: tuple[str, str, tuple[str, str]]) -> bool:
    """Whether the quantity of a keyword may be said in a unit."""
    _, usual, symbols = unit
    if usual == "trip":
        return quantity in {"trip", "odometer", "range_left"}
    return quantity == usual or (quantity == "battery_temperature" and symbols[0].startswith("deg"))


def _in_digits(text: str) -> list[str]:
    words = text.replace(" o'clock", "").split()
    for at, word in enumerate(words):
        follows = at + 1 < len(words) and _NUMBER_WORD.fullmatch(words[at + 1])
        if word in _SOUNDS_LIKE and (word not in _NOT_ALONE or follows):
            words[at] = _SOUNDS_LIKE[word]
    digits = alpha2digit(" ".join(words), "en", threshold=0)
    digits = re.sub(r"half past (\d+)\b(?! \d)", r"\1 30", digits)
    digits = re.sub(r"\b(\d+) and a half\b", r"\1.5", re.sub(r"\ba (\d)", r"\1", digits))
    # "twelve point oh five": what the library leaves apart.
    digits = re.sub(r"(?<![\d.])(\d+) point (\d+)\b", r"\1.\2", digits)
    # Of decimals before another number only the first is the trip's; the others begin that number.
    digits = re.sub(r"\b(\d+\.\d)(\d+) point (\d+)", r"\1 \2.\3", digits)
    digits = re.sub(r"\b(\d+\.\d)(\d+)(?= \d)", r"\1 \2", digits)
    return digits.split()


def _runs(words: list[str]) -> Iterator[_Run]:
    at = said = 0
    while at < len(words):
        end = at
        while end < len(words) and _NUMBER.fullmatch(words[end]):
            # Nothing is said after decimals: the next number is another one.
            end += 1
            if "." in words[end - 1]:
                break
        if end > at and not (at and words[at - 1] == "per"):
            yield _Run(tuple(words[at:end]), words[max(said, at - _NEAR) : at], words[end : end + 5])
            said = end
        at = max(end, at + 1)


def _reading(quantity: str, numbers: Sequence[str], unit: str, run: _Run) -> Iterator[SaidReading]:
    value = _value(numbers)
    if quantity == "clock":
        hour, minute = divmod(int(value), 100) if len(numbers) > 1 else (int(value), 0)
        afternoon = run.after[:1] == ["p"]
        yield SaidReading("clock", str(hour % 12 * 60 + minute + 720 * afternoon), "min")
    elif value <= _most(quantity):
        below = "minus" in run.before[-1:] or " ".join(run.after[:3]) == "degrees below 0"
        yield SaidReading(quantity, format(-value if below else value, "f"), unit)


def _value(numbers: Sequence[str]) -> Decimal:
    """Return numbers said in pairs or digit by digit as one."""
    return Decimal("".join(numbers))


def _most(quantity: str) -> int:
    return _MOST.get(quantity, _MOST_OTHER)
