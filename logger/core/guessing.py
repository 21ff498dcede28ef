"""What a doubtful reading may have been though nobody listed it: by the sound of its words, and by what the drive makes likely. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from operator import itemgetter

from rapidfuzz.distance import Levenshtein

from grammar import Confusion, Language, Reading, confusions, number_words, ways_to_say, ways_to_say_time
from logger.core.candidates import Option
from logger.core.evidence import Surroundings
from logger.core.readers import Reader

MOST_ALIKE = 6
MOST_LIKELY_VALUES = 3
"""How many guesses there are by the sound of the words, and how many by what the drive makes likely."""

OTHER_UNIT = 4.0
"""The cost of the same number in the quantity's other unit."""
WORD_APART = 8.0
"""The cost of each word in which what the drive makes likely differs from what was heard: one word in a hundred is misheard, for one
of some thirty. Of 5, 6.5 and 8 the one with which the other car's odometers of the TUNING drives keep their first suggestion."""
_MILES_AND_KM = 2
_GUESSED = 0.5
"""This share of what nobody listed is among the guesses."""

Guesses = dict[Reading, tuple[float, str]]
"""Readings, with their cost (the natural log of how much less likely than as heard) and their words."""


def with_guesses(
    reader: Reader, language: Language, around: Surroundings, likely: Iterable[Decimal] = ()
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
    alike = _understood(((guess, None) for guess in confusions(words)), quantity, language)
    for part in _in_the_other_unit(heard.part, language):
        alike[part] = OTHER_UNIT, heard.heard
    fitting = _understood(_nearest(words, likely, is_time=quantity == "clock"), quantity, language)
    guesses = _cheapest(fitting, known, MOST_LIKELY_VALUES) | _cheapest(alike, known, MOST_ALIKE)

    # Guesses of many other words do not share as much as near ones, even where there are no others.
    total = max(math.exp(-WORD_APART), sum(math.exp(-cost) for cost, _ in guesses.values()))
    unlisted = max(0.0, 1.0 - sum(option.weight for option in reader.spoken.slot.options))
    options, observations = list(reader.options), list(reader.observations)
    for part, (cost, said) in guesses.items():
        weight = _GUESSED * unlisted * math.exp(-cost) / total
        options.append(Option(part, weight, said, first=False, guessed=True))
        observations.append(around.observe(part.quantity, part.value, part.unit, reader.spoken.at_ns))
    return replace(reader, options=tuple(options), observations=tuple(observations))


def _understood(
    guesses: Iterable[tuple[Confusion, Decimal | None]], quantity: str, language: Language
) -> Guesses:
    """Return the readings of a quantity that guessed words mean, each at its least cost; of a value those that have it."""
    lead = language.phrasebook.lead
    found: Guesses = {}
    for guess, value in guesses:
        for meaning in language.meanings((lead, *guess.words) if lead else guess.words):
            (part, *others) = meaning.parts
            if others or not isinstance(part, Reading) or part.quantity != quantity:
                continue
            if value in (None, part.value) and guess.cost < found.get(part, (math.inf, ""))[0]:
                found[part] = guess.cost, " ".join(guess.words)
    return found


def _cheapest(guesses: Guesses, known: set[tuple[Decimal, str]], most: int) -> Guesses:
    """Return the few cheapest guesses at values that are not known yet."""
    new = [item for item in guesses.items() if (item[0].value, item[0].unit) not in known]
    return dict(sorted(new, key=lambda item: item[1])[:most])


def _nearest(
    words: Sequence[str], likely: Iterable[Decimal], *, is_time: bool
) -> Iterator[tuple[Confusion, Decimal]]:
    """Yield likely values in the words that are nearest to what was heard, its number in their place."""
    number = number_words(words)
    heard = words[number]
    for value in likely if heard else ():
        ways = ways_to_say_time(int(value)) if is_time else ways_to_say(value)
        if ways:
            apart, way = min(((Levenshtein.distance(heard, way), way) for way in ways), key=itemgetter(0))
            yield Confusion((*words[: number.start], *way, *words[number.stop :]), WORD_APART * apart), value


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
