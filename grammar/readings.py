"""What may be called out, and what a spoken phrase turns out to mean: frozen records."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: the symbol used in logs and the phrases that may name it, the usual one first."""

    symbol: str
    phrases: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity of the dash and how it is called out.

    Attributes:
        name: its name in logs, e.g. `trip`.
        units: the units it may be said in; the first is meant when no unit is said.
        highest: the largest whole number that the dash can show; says how long a number may be.
        places: how many decimals may be said.
        signed: whether it may be below zero.
        keywords: phrases that may be said before the number; with one of them the unit may be left out.
        bare: whether number and unit suffice without a keyword.
        after: phrases that must follow number and unit to mean this quantity ("left"), empty for none.
        keyword_after: whether a keyword may also follow the unit ("forty degrees outside").
        unit_needed: whether the unit must be said even after a keyword, because the keyword is shared.
        lowest_plausible, highest_plausible: limits, both included, in `units[0]`; None for no limit.
            They do not narrow what can be heard: a value beyond them becomes a doubt.
        clock: whether it is a time of day; the value is then minutes after midnight.
    """

    name: str
    units: tuple[Unit, ...]
    highest: int
    places: int = 0
    signed: bool = False
    keywords: tuple[str, ...] = ()
    bare: bool = True
    after: tuple[str, ...] = ()
    keyword_after: bool = False
    unit_needed: bool = False
    lowest_plausible: Decimal | None = None
    highest_plausible: Decimal | None = None
    clock: bool = False

    @property
    def unit(self) -> str:
        """The symbol of the unit meant when none is said."""
        return self.units[0].symbol


class CommandKind(StrEnum):
    """What the driver can ask for or mark besides reading the dash."""

    NOTE = "note"
    STRIKE = "strike"
    SAY_AGAIN = "say_again"
    HOW_FAR = "how_far"


@dataclass(frozen=True, slots=True)
class Reading:
    """A value as it was said; `first_word` to `end_word` (not included) are its words in the phrase."""

    quantity: str
    value: Decimal
    unit: str
    correction: bool = False
    first_word: int = field(default=0, compare=False)
    end_word: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Command:
    """A command or note; `text` is the kind of a note, else empty."""

    kind: CommandKind
    text: str = ""
    first_word: int = field(default=0, compare=False)
    end_word: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing a whole phrase can mean: its readings and commands in the order spoken."""

    parts: tuple[Reading | Command, ...]

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Only the readings."""
        return tuple(part for part in self.parts if isinstance(part, Reading))
