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
"""The quantities and commands of a meaning, in order."""


_NO_NUMBER = "clock"
"""A time of day is not written as one number."""


def digits(meaning: Meaning) -> int:
    """Return how many digits a meaning writes. Not by the parts' numbers: 190 equals 190.0, and has a digit less."""
    return sum(len(part.value.as_tuple().digits) for part in meaning.readings if part.quantity != _NO_NUMBER)


class NumberedParts:
    """Numbers the parts of one call, as they come."""

    def __init__(self) -> None:
        self._of_object: dict[int, int] = {}
        self._of_part: dict[Part, int] = {}
        self._kept: list[Part] = []  # while an object is here, no other one has its id
        self._parts: list[Part] = []
        self._kinds: list[tuple[str, str]] = []
        self._make_ups: dict[MakeUp, tuple[MakeUp, int]] = {}

    def told(self, meaning: Meaning) -> Told:
        """Return a meaning by the numbers of its parts."""
        known = self._of_object
        return tuple([known[id(part)] if id(part) in known else self._number(part) for part in meaning.parts])

    def make_up(self, told: Told) -> MakeUp:
        """Return what a meaning consists of in which order, whatever the values; one object for equal ones."""
        return self._made_of(told)[0]

    def said_twice(self, told: Told) -> int:
        """Return how many of a meaning's readings are of a quantity that it has told already."""
        return self._made_of(told)[1] if len(told) > 1 else 0

    def _made_of(self, told: Told) -> tuple[MakeUp, int]:
        kinds = self._kinds
        made_of = tuple([kinds[number] for number in told])
        known = self._make_ups.get(made_of)
        if known is None:
            parts = [self._parts[number] for number in told]
            quantities = [part.quantity for part in parts if isinstance(part, Reading)]
            known = self._make_ups[made_of] = made_of, len(quantities) - len(set(quantities))
        return known

    def _number(self, part: Part) -> int:
        number = self._of_part.setdefault(part, len(self._of_part))
        self._of_object[id(part)] = number
        self._kept.append(part)
        if number == len(self._parts):
            self._parts.append(part)
            self._kinds.append(
                (part.quantity, str(part.correction))
                if isinstance(part, Reading)
                else (part.kind.value, part.text)
            )
        return number
