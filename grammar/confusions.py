"""What a reading's words may have been instead: words that sound alike, and words that get lost or doubled. Pure.

Each way has a cost, the natural log of how much less likely it is than the words themselves. The costs are judgement
from phonetics (a lost final consonant, a lost unstressed word), in the order of what recognisers were seen to mistake; they rank suggestions
and let a value that fits a drive be found when no recogniser listed it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from grammar.words import ONES, TEENS, TENS, ZEROS

_PAIRS: tuple[tuple[str, str, float], ...] = (
    # an unstressed ending
    ("thirteen", "thirty", 2.5),
    ("fourteen", "forty", 2.5),
    ("fifteen", "fifty", 2.5),
    ("sixteen", "sixty", 2.5),
    ("seventeen", "seventy", 2.5),
    ("eighteen", "eighty", 2.5),
    ("nineteen", "ninety", 2.5),
    # one vowel between weak consonants
    ("five", "nine", 3.0),
    ("four", "five", 4.0),
    ("one", "nine", 4.5),
    ("one", "four", 5.0),
    ("oh", "four", 4.5),
    ("eight", "eighty", 4.0),
    ("six", "sixty", 4.5),
    ("seven", "seventy", 4.5),
    ("seven", "eleven", 4.0),
    ("four", "forty", 4.0),
    ("nine", "ninety", 4.0),
    ("two", "three", 5.0),
    ("two", "eight", 5.5),
    ("three", "eight", 5.5),
    # tens with the same ending
    ("thirty", "forty", 4.0),
    ("fifty", "sixty", 4.0),
    ("fifty", "forty", 5.0),
    ("twenty", "seventy", 4.5),
    ("twenty", "thirty", 5.0),
    ("eighty", "thirty", 5.0),
    ("thirteen", "fourteen", 5.0),
    ("fourteen", "fifteen", 5.0),
    ("fifteen", "sixteen", 5.0),
    ("eighteen", "thirteen", 5.0),
)

_LOST_POINT = 4.0
_LOST_HUNDRED = 4.5
_LOST_DIGIT = 4.0
_DOUBLED_DIGIT = 4.0
_LOST_TEN = 5.0
_NUMBER_WORDS = frozenset((*ONES, *ZEROS))


def _alike() -> dict[str, tuple[tuple[str, float], ...]]:
    table: dict[str, list[tuple[str, float]]] = {}
    for one, other, cost in _PAIRS:
        table.setdefault(one, []).append((other, cost))
        table.setdefault(other, []).append((one, cost))
    return {word: tuple(others) for word, others in table.items()}


ALIKE = _alike()
"""For each number word those that sound like it, each with its cost."""


class Confusion(NamedTuple):
    """What may have been said instead of some words, and the natural log of how much less likely it is."""

    words: tuple[str, ...]
    cost: float


def confusions(words: Sequence[str]) -> Iterator[Confusion]:
    """Yield what may have been said instead, by one mistake; not all of it is in the language.

    Besides words that sound alike: "point" or "hundred" lost or heard for nothing, a repeated digit heard once, a
    digit heard twice, and a ten lost before a digit.
    """
    said = tuple(words)
    for at, word in enumerate(said):
        before, after = said[:at], said[at + 1 :]
        for other, cost in ALIKE.get(word, ()):
            yield Confusion((*before, other, *after), cost)
        if word == "point":
            yield Confusion((*before, *after), _LOST_POINT)
        if word == "hundred":
            yield Confusion((*before, *after), _LOST_HUNDRED)
        if word in _NUMBER_WORDS:
            if before and before[-1] not in ("point", "hundred"):
                yield Confusion((*before, "point", word, *after), _LOST_POINT)
            yield Confusion((*before, word, word, *after), _LOST_DIGIT)
            if before and before[-1] == word:
                yield Confusion((*before, *after), _DOUBLED_DIGIT)
            if after and word in ONES and after[0] in (*ONES, *TENS, *TEENS):
                yield Confusion((*before, word, "hundred", *after), _LOST_HUNDRED)
        if word in TENS and after and after[0] in ONES:
            yield Confusion((*before, *after), _LOST_TEN)
