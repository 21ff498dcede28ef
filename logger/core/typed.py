"""What a person typed about a reading, understood through the same grammar as speech. Pure.

"one oh five", "105", "105 mi" and "range 105" may all be typed about a predicted range. What the text leaves out, quantity
and unit, is taken from the entry it is about; where it can be read in more than one way all of them are returned.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from grammar import UNITS, Command, CommandKind, Language, Reading, Written, written_words
from logger.core.columns import NOTE
from logger.core.rules import told

MOST_LETTERS = 200
"""A longer text is no reading."""
MOST_NOTE = 500
"""A note's text is cut off after that."""
_DEGREES = "degrees"


@dataclass(frozen=True, slots=True)
class Typed:
    """One thing that was typed: a reading, or with the quantity `note` a note, which has no value."""

    quantity: str
    value: Decimal | None
    unit: str
    note: str = ""

    @property
    def text(self) -> str:
        """The value as people write it, with its quantity."""
        if self.value is None:
            return f"note {self.note}"
        return f"{self.quantity.replace('_', ' ')} {told(self.quantity, self.value, self.unit)}"


Way = tuple[Typed, ...]
"""One way to understand a text: what it tells, in order; never empty."""


def understand(text: str, language: Language, about: Sequence[tuple[str, str]]) -> tuple[Way, ...]:
    """Return every way to understand a typed text; none where it means nothing.

    Args:
        text: words, digits or both, with or without quantity and unit.
        language: what may be said on the drive.
        about: the quantities it may be about, each with the unit it is told in; a text that is complete by itself may
            be about any other.
    """
    if len(text) > MOST_LETTERS:
        return ()
    written = written_words(text)
    reader = _Reader(language, written)
    if len(about) == 1 and (ways := reader.told_of(*about[0])):
        return ways
    if ways := reader.complete():
        return ways
    return tuple(dict.fromkeys(way for each in about for way in reader.told_of(*each)))


def as_note(text: str) -> str:
    """Return a note's text without what makes no difference: outer blanks, line ends, a leading "note"."""
    words = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
    return f"{words} ".removeprefix("note ").strip()[:MOST_NOTE]


def quantity_of(heard: str, value: Decimal, unit: str, own: str, language: Language) -> str:
    """Return what an alternative of an entry is of: the entry's own quantity, or another one that its words tell.

    Args:
        heard: the alternative's words.
        value: what they come to.
        unit: its unit.
        own: the entry's quantity.
        language: what may be said.
    """
    lead = language.phrasebook.lead
    found = [
        reading.quantity
        for meaning in language.meanings(f"{lead} {heard}")
        for reading in meaning.readings
        if (reading.value, reading.unit) == (value, unit)
    ]
    return own if own in found or not found else found[0]


class _Reader:
    def __init__(self, language: Language, written: Written) -> None:
        self._language, self._written = language, written
        self._lead = (language.phrasebook.lead,) if language.phrasebook.lead else ()

    def complete(self) -> tuple[Way, ...]:
        """Return what the text means by itself."""
        words = self._written.words
        return self._ways([(*self._lead, *words), words])

    def told_of(self, quantity: str, unit: str) -> tuple[Way, ...]:
        """Return what the text means as a value of a quantity; where it names no unit, in this one."""
        known = {each.name: each for each in self._language.phrasebook.quantities}
        if quantity not in known or not self._written.words:
            return ()
        asked, words = known[quantity], self._written.words
        keyword = tuple(asked.keywords[0].split()) if asked.keywords else ()
        begin = (*self._lead, *keyword)
        after = tuple(asked.after[0].split()) if asked.after and not keyword else ()
        named = self._of(quantity, [(*begin, *words, *after), (*self._lead, *words)])
        phrases = UNITS[unit].phrases if unit in UNITS else ()
        in_unit = self._of(quantity, [(*begin, *words, *phrases[0].split(), *after)]) if phrases else ()
        if words[-1] == _DEGREES:
            # Said so, it is the sheet's own degrees; the entry may be told in the others.
            other = self._of(quantity, [(*begin, *words[:-1], *phrases[0].split())]) if phrases else ()
            return tuple(dict.fromkeys((*named, *other)))
        return in_unit or named

    def _of(self, quantity: str, phrases: Iterable[tuple[str, ...]]) -> tuple[Way, ...]:
        return tuple(way for way in self._ways(phrases) if way[0].quantity == quantity)

    def _ways(self, phrases: Iterable[tuple[str, ...]]) -> tuple[Way, ...]:
        found: dict[Way, None] = {}
        for phrase in phrases:
            for meaning in self._language.meanings(phrase):
                way = tuple(typed for part in meaning.parts if (typed := _typed(part)) is not None)
                if len(way) == len(meaning.parts) and self._has_the_digits(way):
                    found[way] = None
        # "One oh five" is hardly ever a ten and a five: who types two readings names a unit or a quantity with each.
        fewest = min((len(way) for way in found), default=0)
        return tuple(way for way in found if len(way) == fewest)

    def _has_the_digits(self, way: Way) -> bool:
        """Whether what was typed in digits is there, with its decimals and as what it was: words alone may mean others."""
        clocks = {each.name for each in self._language.phrasebook.quantities if each.clock}
        if sum(each.quantity in clocks for each in way) < self._written.times:
            return False
        left = [str(each.value) for each in way if each.value is not None]
        for number in self._written.numbers:
            if str(number) not in left:
                return False
            left.remove(str(number))
        return True


def _typed(part: Reading | Command) -> Typed | None:
    if isinstance(part, Reading):
        return Typed(part.quantity, part.value, part.unit)
    return Typed(NOTE, None, "", part.text) if part.kind is CommandKind.NOTE else None
