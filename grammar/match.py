"""Recognised words -> every meaning they have. Ambiguity is kept, never guessed away.

Words outside the language give no meaning at all. Pure; costs time linear in the words.

A recogniser's answers to one call are the same few readings put together again and again, each heard in a few ways. So
a phrase is cut wherever two words can only belong to different parts ("percent | trip"), which the network tells of
each pair of words; what a piece means is worked out once (`walking`) and remembered for whatever phrase it stands in.
Pieces are as many as there are numbers, so only the last `MOST_PIECES` are kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from itertools import compress, pairwise
from operator import itemgetter

from grammar.network import Network
from grammar.nodes import Mark, MarkKind
from grammar.readings import Command, CommandKind, Meaning, Reading
from grammar.walking import MOST_TRAILS, Trail, Walker

MOST_PIECES = 1 << 15
"""Pieces whose meaning is remembered: more than the longest drive has, whose 10,000 calls in 16 voices have 16,559."""

_LEADS = (MarkKind.CORRECTION, MarkKind.CHECKPOINT)
_DIGITS = MarkKind.DIGITS


@dataclass(frozen=True, slots=True, eq=False)
class _Front:
    """Where the words so far may have led; one object for equal ones, so it is its own key.

    Attributes:
        doors: the states in which the next part may begin, or the phrase end.
        groups: for each, by which group of meanings it is reached.
        ended: the group of meanings that the words have if no more follow, None where more must.
    """

    doors: tuple[int, ...]
    groups: tuple[int, ...]
    ended: int | None


_Told = tuple[str, Decimal, str] | tuple[CommandKind, str]
"""A reading's quantity, value and unit; or a command."""


@dataclass(frozen=True, slots=True, eq=False)
class _Said:
    """One meaning of a piece, wherever in a phrase it stands.

    Attributes:
        parts: its parts, their words counted from its own first one, and whether they are a correction (None where
            what was said before it tells).
        correction: whether what follows is a correction (True) or a checkpoint (False), None where it does not say.
    """

    parts: tuple[tuple[_Told, int, int, bool | None], ...]
    correction: bool | None


@dataclass(frozen=True, slots=True, eq=False)
class _Stretch:
    """One meaning of a piece at its place in a phrase; `correction` as it is for what follows."""

    parts: tuple[Reading | Command, ...]
    correction: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """What some words mean, behind a front.

    Attributes:
        front: where they lead.
        ways: for each of its groups, (group of the front before, meaning) pairs.
        only: the one meaning of a piece that has no other, behind the only group of the front before.
    """

    front: _Front
    ways: tuple[tuple[tuple[int, _Said], ...], ...]
    only: _Said | None


_Run = tuple[_Stretch, ...]
"""One meaning of the words so far, piece by piece."""


class Matcher:
    """Matches phrases against one network; remembers what it has worked out, so keep one for a drive.

    Threads may share one: each fact is worked out whole before it is remembered, and is the same whoever does it.
    """

    def __init__(self, network: Network) -> None:
        self._network = network
        self._walker = Walker(network)
        self._after: dict[str, tuple[frozenset[str], frozenset[str]]] = {}
        self._apart: dict[tuple[str, str], bool] = {}
        self._fronts: dict[tuple[tuple[int, ...], tuple[int, ...]], _Front] = {}
        self._start = self._front((network.start,), (0,))
        self._piece = lru_cache(MOST_PIECES)(self._worked_out)
        self._stretch = lru_cache(MOST_PIECES)(_stretch)
        self._placed = lru_cache(MOST_PIECES)(self._placed_at)
        self._text = lru_cache(MOST_PIECES)(_text)

    def match(self, words: Sequence[str]) -> tuple[Meaning, ...]:
        """Return every meaning of a phrase, each once, in a stable order; empty when it is none of ours."""
        words = tuple(words)
        cuts = self._cut(words)
        front = self._start
        run: list[_Stretch] = []
        runs: list[list[_Run]] | None = None  # as soon as there is more than one way
        correction = False
        for begin, end in pairwise(cuts):
            piece, stretch = self._placed(front, words[begin:end], begin, correction)
            if piece is None:
                return ()
            if runs is None and stretch is not None:
                run.append(stretch)
                correction = stretch.correction
            else:
                runs = [
                    self._gathered([[tuple(run)]] if runs is None else runs, ways, begin)
                    for ways in piece.ways
                ]
            front = piece.front
        if front.ended is None:
            return ()
        if runs is None:
            return (_meaning(run),)
        ended = runs[front.ended]
        return (_meaning(ended[0]),) if len(ended) == 1 else tuple(self._in_order(ended))

    def _cut(self, words: Sequence[str]) -> list[int]:
        """Return where the pieces of a phrase begin, and its end; nothing when it is none of ours."""
        known = list(map(self._apart.get, pairwise(words)))
        if not known or None in known:
            if not words or (len(words) == 1 and self._words_after(words[0]) is None):
                return []
            known = [self._are_apart(*pair) for pair in pairwise(words)]
            if None in known:
                return []
        # The first word leads the first part.
        return [0, *compress(range(2, len(words)), known[1:]), len(words)]

    def _are_apart(self, word: str, following: str) -> bool | None:
        """Work out whether two words in a row can only belong to different parts; None, if they are never said so."""
        after = self._words_after(word)
        if after is None or self._words_after(following) is None:
            return None
        within, beyond = after
        if following not in within and following not in beyond:
            return None
        apart = self._apart[word, following] = following not in within
        return apart

    def _words_after(self, word: str) -> tuple[frozenset[str], frozenset[str]] | None:
        """Return what may follow a word; None, which is not remembered, if it is none of ours."""
        after = self._after.get(word)
        if after is None:
            after = self._network.words_after(word)
            if after is not None:
                self._after[word] = after
        return after

    def _gathered(
        self, runs: Sequence[Sequence[_Run]], ways: Sequence[tuple[int, _Said]], at: int
    ) -> list[_Run]:
        """Return the meanings of the words so far that lead alike, those of one more piece added."""
        return [
            (*run, self._stretch(said, at, bool(run) and run[-1].correction))
            for group, said in ways
            for run in runs[group]
        ][:MOST_TRAILS]

    def _in_order(self, runs: Sequence[_Run]) -> list[Meaning]:
        """Return meanings each once, those of few parts first."""
        found: list[tuple[int, str, Meaning]] = []
        known: list[Meaning] = []  # there are few, and most share their parts, so comparing beats hashing
        for run in runs:
            meaning = _meaning(run)
            if meaning not in known:
                known.append(meaning)
                # By the text of the parts, which is worked out once a piece and not once a phrase.
                text = ", ".join(filter(None, map(self._text, run)))
                found.append((len(meaning.parts), text, meaning))
        return [meaning for _, _, meaning in sorted(found, key=itemgetter(0, 1))]

    def _placed_at(
        self,
        front: _Front,
        words: tuple[str, ...],
        at: int,
        correction: bool,  # noqa: FBT001 (a cache is quicker by position)
    ) -> tuple[_Piece | None, _Stretch | None]:
        """Return what a piece means, None for nothing, and its meaning at its place in a phrase if it has but one."""
        piece = self._piece(front, words)
        only = None if piece is None or piece.only is None else self._stretch(piece.only, at, correction)
        return piece, only

    def _worked_out(self, front: _Front, words: tuple[str, ...]) -> _Piece | None:
        """Work out what a piece means; None for nothing."""
        crossing = self._walker.crossing(front.doors, words)
        if crossing is None:
            return None
        said: dict[Trail, _Said] = {}
        ways = tuple(
            tuple(
                (group, said.get(trail) or said.setdefault(trail, _said_by(trail)))
                for group, trail in dict.fromkeys((front.groups[place], trail) for place, trail in each)
            )
            for each in crossing.ways
        )
        doors = tuple(door for together in crossing.exits for door in together)
        groups = tuple(group for group, together in enumerate(crossing.exits) for _ in together)
        alone = len(ways) == 1 and len(ways[0]) == 1 and not any(front.groups)
        return _Piece(self._front(doors, groups), ways, ways[0][0][1] if alone else None)

    def _front(self, doors: tuple[int, ...], groups: tuple[int, ...]) -> _Front:
        end = self._network.end
        ended = groups[doors.index(end)] if end in doors else None
        return self._fronts.setdefault((doors, groups), _Front(doors, groups, ended))


def _meaning(run: Sequence[_Stretch]) -> Meaning:
    parts: tuple[Reading | Command, ...] = ()
    for stretch in run:
        parts += stretch.parts
    return Meaning(parts)


def _stretch(said: _Said, at: int, correction: bool) -> _Stretch:  # noqa: FBT001 (a cache is quicker by position)
    """Return a piece's meaning with its words counted in the phrase, behind what is a correction or none."""
    parts: list[Reading | Command] = []
    for told, first, end, own in said.parts:
        if len(told) == 3:
            parts.append(Reading(*told, correction if own is None else own, at + first, at + end))
        else:
            parts.append(Command(*told, at + first, at + end))
    return _Stretch(tuple(parts), correction if said.correction is None else said.correction)


def _text(stretch: _Stretch) -> str:
    return ", ".join(map(repr, stretch.parts))


def _said_by(trail: Trail) -> _Said:
    """Cut a trail where parts start and make a reading or a command of each; lead words belong to none."""
    parts: list[tuple[_Told, int, int, bool | None]] = []
    correction = own = None
    begun = led_at = None  # where the part was begun, and where a lead was said with nothing behind it
    marks: list[Mark] = []
    last = len(trail) - 1
    for at, placed in enumerate(trail):
        for mark in placed.marks:
            if mark.kind in _LEADS:
                correction = mark.kind is MarkKind.CORRECTION
                led_at = at if led_at is None else led_at
            else:
                marks.append(mark)
                led_at = None
        if placed.opening is None and at < last:
            continue
        if begun is not None:
            parts.append((_told(marks), begun, at if led_at is None else led_at, own))
        if placed.opening is not None:
            begun, own, led_at, marks = at, correction, None, list(placed.opening.marks)
    return _Said(tuple(parts), correction)


def _told(marks: Sequence[Mark]) -> _Told:
    number = ""
    said: dict[MarkKind, str] = {}
    for mark in marks:
        if mark.kind is _DIGITS:
            number += mark.text
        else:
            said[mark.kind] = mark.text
    if number:
        value = Decimal(number)
        return said[MarkKind.QUANTITY], -value if MarkKind.NEGATIVE in said else value, said[MarkKind.UNIT]
    if MarkKind.HOUR in said:
        return said[MarkKind.QUANTITY], _minutes_after_midnight(said), said[MarkKind.UNIT]
    if MarkKind.NOTE in said:
        return CommandKind.NOTE, said[MarkKind.NOTE]
    return CommandKind(said[MarkKind.COMMAND]), ""


def _minutes_after_midnight(said: dict[MarkKind, str]) -> Decimal:
    hour = int(said[MarkKind.HOUR])
    half = said[MarkKind.HALF_DAY]
    if half != "24":
        hour = hour % 12 + (12 if half == "pm" else 0)
    return Decimal((hour * 60 + int(said[MarkKind.MINUTE])) % (24 * 60))
