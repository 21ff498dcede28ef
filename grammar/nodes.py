"""The small closed set of parts every phrase is built from.

A part says which words may be spoken *and*, by the marks it emits on the way, what they mean. The same
object is therefore compiled for a recogniser (words only) and matched against what was heard (words and
marks), so what can be heard and what it means cannot drift apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class MarkKind(StrEnum):
    """What a mark tells about the words around it."""

    START = "start"
    """A reading or command begins with the next word."""
    QUANTITY = "quantity"
    """The reading is of the quantity named in the text."""
    UNIT = "unit"
    """The reading's unit symbol."""
    DIGITS = "digits"
    """Further characters of the number, "." included."""
    NEGATIVE = "negative"
    """The number is below zero."""
    HOUR = "hour"
    """The hour of a clock time, as digits."""
    MINUTE = "minute"
    """Minutes after that hour, as digits; may be negative ("quarter to")."""
    HALF_DAY = "half_day"
    """`am`, `pm`, or `24` for a clock time that needs neither."""
    CORRECTION = "correction"
    """The readings that follow replace earlier ones."""
    CHECKPOINT = "checkpoint"
    """The readings that follow are a new checkpoint."""
    COMMAND = "command"
    """A command of the kind named in the text."""
    NOTE = "note"
    """A note of the kind named in the text."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Something to remember, at no word's cost."""

    kind: MarkKind
    text: str = ""


@dataclass(frozen=True, slots=True)
class Word:
    """Exactly one spoken word."""

    text: str


@dataclass(frozen=True, slots=True)
class Seq:
    """All parts, one after another."""

    parts: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """Exactly one of the options."""

    options: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Loop:
    """The part once or more often."""

    part: Node


@dataclass(frozen=True, slots=True)
class Rule:
    """A part with a name of its own, which is the name of its rule when printed as JSGF."""

    name: str
    part: Node


Node = Mark | Word | Seq | Choice | Loop | Rule

NOTHING = Seq(())
"""No word at all."""


def seq(*parts: Node | str) -> Node:
    """Put parts one after another; a string stands for its words, spoken in that order.

    >>> seq("strike that")
    Seq(parts=(Word(text='strike'), Word(text='that')))
    """
    flat: list[Node] = []
    for part in parts:
        if isinstance(part, str):
            flat.extend(Word(word) for word in part.split())
        elif isinstance(part, Seq):
            flat.extend(part.parts)
        else:
            flat.append(part)
    return flat[0] if len(flat) == 1 else Seq(tuple(flat))


def choice(*options: Node | str) -> Node:
    """Offer options; a string stands for its words."""
    nodes = tuple(seq(option) for option in options)
    return nodes[0] if len(nodes) == 1 else Choice(nodes)


def maybe(part: Node | str) -> Node:
    """Allow a part or nothing."""
    return Choice((seq(part), NOTHING))


def digits(text: str) -> Mark:
    """Return the mark that adds characters to the number being spoken."""
    return Mark(MarkKind.DIGITS, text)
