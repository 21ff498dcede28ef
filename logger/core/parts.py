"""The parts that a call's meanings are made of, each told apart from the others by a number. Pure.

A list of answers says the same few readings over and over. Equal ones get one number, so that they are compared once
and not in every answer, and what can be said of each is worked out once.
"""

from __future__ import annotations

from grammar import Command, Meaning, Reading

Part = Reading | Command
Told = tuple[int, ...]
"""A meaning by the numbers of its parts, in order; equal meanings are told alike."""
MakeUp = tuple[tuple[str, str], ...]
"""The quantities and commands of a meaning, in order, whatever the values."""
MadeOf = tuple[MakeUp, int]
"""A meaning's make-up, and how many of its readings are of a quantity that it has told already."""


_NO_NUMBER = "clock"
"""A time of day is not written as one number."""


def digits(meaning: Meaning) -> int:
    """Return how many digits a meaning writes. Not by the parts' numbers: 190 equals 190.0, and has a digit less."""
    return sum(len(part.value.as_tuple().digits) for part in meaning.readings if part.quantity != _NO_NUMBER)


class NumberedParts:
    """Numbers the parts of one call, or of all of a drive, as they come.

    A drive's calls share most parts, down to the objects that the language has made of the same words.
    """

    def __init__(self) -> None:
        self._of_object: dict[int, int] = {}
        self._of_part: dict[Part, int] = {}
        self._kept: list[Part] = []  # while an object is here, no other one has its id
        self._parts: list[Part] = []
        self._kinds: list[int] = []
        self._of_kind: dict[tuple[str, str], int] = {}
        self._made_of: dict[tuple[int, ...], MadeOf] = {}

    def told(self, meaning: Meaning) -> Told:
        """Return a meaning by the numbers of its parts."""
        try:
            return tuple(map(self._of_object.__getitem__, map(id, meaning.parts)))
        except KeyError:
            return tuple(map(self._number, meaning.parts))

    def made_of(self, told: Told) -> MadeOf:
        """Return what a meaning consists of; one object for equal ones."""
        kinds = self._kinds
        numbers = tuple([kinds[number] for number in told])
        known = self._made_of.get(numbers)
        if known is None:
            parts = [self._parts[number] for number in told]
            quantities = [part.quantity for part in parts if isinstance(part, Reading)]
            known = tuple(map(_kind, parts)), len(quantities) - len(set(quantities))
            self._made_of[numbers] = known
        return known

    def _number(self, part: Part) -> int:
        number = self._of_object.get(id(part))
        if number is not None:
            return number
        number = self._of_part.setdefault(part, len(self._of_part))
        self._of_object[id(part)] = number
        self._kept.append(part)
        if number == len(self._parts):
            self._parts.append(part)
            self._kinds.append(self._of_kind.setdefault(_kind(part), len(self._of_kind)))
        return number


def _kind(part: Part) -> tuple[str, str]:
    if isinstance(part, Reading):
        return part.quantity, str(part.correction)
    return part.kind.value, part.text
