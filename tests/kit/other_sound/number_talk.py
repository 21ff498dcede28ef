"""Talk full of numbers: prices, times, scores, recipes, roads, weather, news, all but calls.

Templates are filled at random. Every second template of a theme belongs to the tuning group, the others to the report
group, so that no sentence frame is in both.
"""

from __future__ import annotations

import random
import string
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import partial

from speechkit.numbers import Style, spoken, styles_of

from other_sound.templates import THEMES

_NAMES = [
    "Martin",
    "Helen",
    "Oscar",
    "Ruth",
    "Simon",
    "Carla",
    "Peter",
    "Nadia",
    "Walter",
    "June",
    "Victor",
    "Alice",
    "Rosa",
    "Henry",
    "Paula",
    "Leon",
    "Grace",
    "Edwin",
]
_TOWNS = [
    "Ashford",
    "Milton",
    "Fairview",
    "Kingston",
    "Riverside",
    "Oakdale",
    "Weston",
    "Clinton",
    "Newport",
    "Salem",
    "Dover",
    "Franklin",
    "Lebanon",
    "Marion",
]
_ORDINALS = [
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fifteenth",
    "twentieth",
    "thirtieth",
]
_ONES = ["oh", "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_DAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
_PAST = ("half past", "a quarter past", "a quarter to", "ten to", "twenty past", "five to")


def frames(group: str) -> dict[str, tuple[str, ...]]:
    """Return a group's templates by theme."""
    first = ("tuning", "report").index(group)
    return {theme: templates[first::2] for theme, templates in THEMES.items()}


def sentences(group: str, seed: int) -> Iterator[str]:
    """Yield sentences without end: a theme at random, then some of its templates, filled."""
    rng = random.Random(f"other sound numbers {seed}")
    slots = _Filler(rng).slots()
    themes = list(frames(group).values())
    while True:
        theme = rng.choice(themes)
        for template in rng.sample(theme, min(len(theme), rng.randint(2, 5))):
            # Each slot is filled anew, also where a template has the same one twice.
            parts = string.Formatter().parse(template)
            yield "".join(text + (slots[slot]() if slot else "") for text, slot, _, _ in parts)


class _Filler:
    """Makes up what stands in the slots."""

    def __init__(self, rng: random.Random) -> None:
        self._rng = rng

    def slots(self) -> dict[str, Callable[[], str]]:
        """Return what fills each slot."""
        return {
            "few": partial(self._plain, 2, 9),
            "some": partial(self._plain, 10, 99),
            "many": partial(self._whole, 100, 999),
            "thousands": partial(self._whole, 1000, 99_999),
            "decimal": partial(self._decimal, 1, 99),
            "fine": partial(self._decimal, 0, 9, 2),
            "percent": self._percent,
            "price": self._price,
            "clock": self._clock,
            "phone": lambda: f"{self._digits(3)}, {self._digits(3)}, {self._digits(4)}",
            "digits": lambda: self._digits(self._rng.randint(3, 6)),
            "year": self._year,
            "distance": self._distance,
            "degrees": self._degrees,
            "nth": partial(self._rng.choice, _ORDINALS),
            "name": partial(self._rng.choice, _NAMES),
            "town": partial(self._rng.choice, _TOWNS),
            "day": partial(self._rng.choice, _DAYS),
            "month": partial(self._rng.choice, _MONTHS),
        }

    def _said(self, value: Decimal) -> str:
        return spoken(value, self._rng.choice(styles_of(value)), self._rng)

    def _whole(self, low: int, high: int) -> str:
        return self._said(Decimal(self._rng.randint(low, high)))

    def _plain(self, low: int, high: int) -> str:
        return spoken(Decimal(self._rng.randint(low, high)), Style.CARDINAL, self._rng)

    def _decimal(self, low: int, high: int, places: int = 1) -> str:
        value = self._rng.randint(low * 10**places, high * 10**places)
        return self._said(Decimal(value).scaleb(-places))

    def _digits(self, count: int) -> str:
        return " ".join(self._rng.choice(_ONES) for _ in range(count))

    def _price(self) -> str:
        dollars, cents = self._plain(1, 99), self._plain(10, 99)
        ways = (f"{dollars} {cents}", f"{dollars} dollars and {cents} cents", f"{dollars} dollars")
        return self._rng.choice(ways)

    def _clock(self) -> str:
        hour, minute = self._plain(1, 12), self._plain(10, 59)
        half = self._rng.choice(("A M", "P M", "in the morning", "in the evening", "", ""))
        past = self._rng.choice(_PAST)
        return self._rng.choice((f"{hour} {minute} {half}", f"{past} {hour}", f"{hour} o'clock")).strip()

    def _year(self) -> str:
        century, low, high = self._rng.choice(
            (("eighteen", 11, 99), ("nineteen", 11, 99), ("twenty", 10, 29))
        )
        return f"{century} {self._plain(low, high)}"

    def _distance(self) -> str:
        unit = self._rng.choice(("miles", "miles", "miles", "kilometers"))
        return f"{self._decimal(1, 99) if self._rng.random() < 0.4 else self._whole(2, 480)} {unit}"

    def _degrees(self) -> str:
        if self._rng.random() < 0.2:
            return f"minus {self._plain(2, 20)} degrees"
        return f"{self._plain(20, 104)} degrees"

    def _percent(self) -> str:
        return f"{self._decimal(0, 99) if self._rng.random() < 0.4 else self._whole(1, 100)} percent"
