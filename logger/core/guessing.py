"""What a doubtful reading may have been though nobody listed it: by the sound of its words, and by what the drive makes likely. Pure."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import islice
from operator import attrgetter, itemgetter
from typing import NamedTuple

from rapidfuzz.distance import Levenshtein

from grammar import Confusion, Language, Reading, confusions, number_words, ways_to_say, ways_to_say_time
from logger.core.evidence import Surroundings
from logger.core.expecting import Likely
from logger.core.readers import Reader, with_more
from logger.core.slots import Option

MOST_ALIKE = 6
MOST_LIKELY_VALUES = 3
"""How many guesses there are by the sound of the words, and how many by what the drive makes likely."""

OTHER_UNIT = 4.0
"""The cost of the same number in the quantity's other unit."""
WORD_APART = 8.0
"""The cost of each word in which what the drive makes likely differs from what was heard: one word in a hundred is misheard, for one
of some thirty. Of 5, 6.5 and 8 the one with which the other car's odometers of the TUNING drives keep their first suggestion."""
_USUAL = {"a": "one", "zero": "oh"}
"""Words of a number for those that `ways_to_say` has in their place; nor has it an "and"."""
_MILES_AND_KM = 2
_NOON_MIN = 720
_GUESSED = 0.5
"""This share of what nobody listed is among the guesses."""

_MISHEARD = 0.5
_WORD_MORE = 0.5
"""Of what is none of the answers, so much is one that the drive makes likely, misheard by one word; for each further one
e to the second of these times less."""


class Guess(NamedTuple):
    """What a reading may have been.

    Attributes:
        part: the reading.
        cost: the natural log of how much less likely it is than what was heard, by its sound.
        words: its own.
        expected: how likely it is once the reading is none of the answers.
    """

    part: Reading
    cost: float
    words: str
    expected: float = 0.0


Guesses = dict[tuple[Decimal, str], Guess]
"""By value and unit."""


def with_guesses(
    reader: Reader, language: Language, around: Surroundings, likely: Iterable[Likely] = ()
) -> Reader:
    """Return a reading with what its first answer may have been misheard from, though nobody listed it, or in another unit.

    Guesses share up to half of the weight of none of the options, by their costs. They are suggested, never accepted.

    Args:
        reader: a reading that is not certain.
        language: what may be said.
        around: where the car was.
        likely: values that the drive makes likely there, in the unit that was heard, likeliest first.
    """
    heard, quantity = reader.options[reader.first[0]], reader.observations[0].quantity
    words = heard.heard.split()
    known = {(observed.value, observed.unit) for observed in reader.observations}
    by_sound = sorted(confusions(words), key=attrgetter("cost"))
    alike = _understood(((guess, None, 0.0) for guess in by_sound), quantity, language, known, MOST_ALIKE)
    for part in _in_the_other_unit(heard.part, language):
        if (part.value, part.unit) not in known:
            alike[part.value, part.unit] = Guess(part, OTHER_UNIT, heard.heard)
    by_drive = sorted(_nearest(words, likely, is_time=quantity == "clock"), key=itemgetter(2), reverse=True)
    fitting = _understood(by_drive, quantity, language, known, MOST_LIKELY_VALUES)
    guesses = dict(sorted(alike.items(), key=lambda item: item[1].cost)[:MOST_ALIKE])
    for told, guess in islice(fitting.items(), MOST_LIKELY_VALUES):
        guesses[told] = guess._replace(cost=min(guess.cost, guesses[told].cost)) if told in guesses else guess

    # Guesses of many other words do not share as much as near ones, even where there are no others.
    total = max(math.exp(-WORD_APART), sum(math.exp(-guess.cost) for guess in guesses.values()))
    ordered = sorted(guesses.values(), key=attrgetter("cost"))
    options = [
        Option(
            guess.part,
            _GUESSED * reader.unheard * math.exp(-guess.cost) / total,
            guess.words,
            first=False,
            guessed=True,
            expected=guess.expected,
        )
        for guess in ordered
    ]
    return with_more(reader, options, around)


def with_unheard(reader: Reader, value: Decimal, language: Language, around: Surroundings) -> Reader:
    """Return a reading with one value more that nobody heard, as a guess without weight; itself where that cannot be said."""
    heard, quantity = reader.options[reader.first[0]], reader.observations[0].quantity
    if value in {observed.value for observed in reader.observations}:
        return reader
    nearest = _nearest(heard.heard.split(), [Likely(value, 1.0)], is_time=quantity == "clock")
    guesses = _understood(nearest, quantity, language).values()
    options = [Option(each.part, 0.0, each.words, first=False, guessed=True) for each in guesses]
    return with_more(reader, options, around)


def _understood(
    guesses: Iterable[tuple[Confusion, Decimal | None, float]],
    quantity: str,
    language: Language,
    known: Container[tuple[Decimal, str]] = (),
    most: int | None = None,
) -> Guesses:
    """Return the readings of a quantity that guessed words mean, each at its least cost, but those that are known already.

    Where a value goes with the words, only what has it counts. With `most`, guesses come best first, and no more are looked at
    once there are so many.
    """
    lead = language.phrasebook.lead
    found: Guesses = {}
    for guess, value, expected in guesses:
        if most is not None and len(found) >= most:
            break
        for meaning in language.meanings((lead, *guess.words) if lead else guess.words):
            (part, *others) = meaning.parts
            if others or not isinstance(part, Reading) or part.quantity != quantity:
                continue
            told = part.value, part.unit
            if told in known:
                continue
            if value in (None, part.value) and (told not in found or guess.cost < found[told].cost):
                found[told] = Guess(part, guess.cost, " ".join(guess.words), expected)
    return found


def _nearest(
    words: Sequence[str], likely: Iterable[Likely], *, is_time: bool
) -> Iterator[tuple[Confusion, Decimal, float]]:
    """Yield likely values in the words that are nearest to what was heard, its number in their place, and how expected each is."""
    number = number_words(words)
    heard = [_USUAL.get(word, word) for word in words[number] if word != "and"]
    for value, chance in likely if heard else ():
        ways = ways_to_say_time(int(value)) if is_time else ways_to_say(value)
        if ways:
            apart, way = min(((Levenshtein.distance(heard, way), way) for way in ways), key=itemgetter(0))
            said = [*words[: number.start], *way, *words[number.stop :]]
            if is_time and said[-1] == "m":
                said[-2] = "a" if value < _NOON_MIN else "p"
            expected = chance * _MISHEARD * math.exp(-_WORD_MORE * max(0, apart - 1))
            yield Confusion(tuple(said), WORD_APART * apart), value, expected


def _in_the_other_unit(part: object, language: Language) -> tuple[Reading, ...]:
    """Return the same number in the other unit of a quantity with two: a dash may have been switched, or the tongue slipped."""
    if not isinstance(part, Reading):
        return ()
    units = language.phrasebook.quantity(part.quantity).units
    return tuple(
        replace(part, unit=unit.symbol)
        for unit in units
        if len(units) == _MILES_AND_KM and unit.symbol != part.unit
    )
