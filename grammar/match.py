"""Recognised words -> every meaning they have. Ambiguity is kept, never guessed away.

Words outside the language give no meaning at all. Pure; costs time linear in the words.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from grammar.network import Network
from grammar.nodes import Mark, MarkKind
from grammar.readings import Command, CommandKind, Meaning, Reading

Trail = tuple[tuple[int, Mark], ...]
"""Marks in order, each with the number of the word it stands before."""

MOST_TRAILS = 256
"""Meanings followed at once. No phrase a person says in one breath comes near; a bound keeps memory flat."""


class Matcher:
    """Matches phrases against one network; remembers what it has worked out, so keep one for a drive."""

    def __init__(self, network: Network) -> None:
        self._network = network
        self._following: dict[tuple[frozenset[int], str], frozenset[int]] = {}

    def match(self, words: Sequence[str]) -> tuple[Meaning, ...]:
        """Return every meaning of a phrase, each once, in a stable order; empty when it is none of ours."""
        alive = self._states_on_whole_paths(words)
        if not alive[0]:
            return ()
        trails = self._arrive({self._network.start: {(): None}}, 0, alive[0])
        for position, word in enumerate(words):
            reached: dict[int, dict[Trail, None]] = {}
            for state, here in trails.items():
                for spoken, target in self._network.word_arcs[state]:
                    if spoken == word:
                        reached.setdefault(target, {}).update(here)
            trails = self._arrive(reached, position + 1, alive[position + 1])
        found = (_meaning(trail, len(words)) for trail in trails.get(self._network.end, {}))
        return tuple(sorted(set(found), key=_order))

    def _arrive(
        self, reached: dict[int, dict[Trail, None]], position: int, alive: frozenset[int]
    ) -> dict[int, dict[Trail, None]]:
        """Go on from the states a word led to, without a further word, gathering marks."""
        trails: dict[int, dict[Trail, None]] = {}
        for state, here in reached.items():
            for marks, target in self._network.marked_moves(state):
                if target in alive:
                    placed = tuple((position, mark) for mark in marks)
                    there = trails.setdefault(target, {})
                    for trail in here:
                        if len(there) < MOST_TRAILS:
                            there[trail + placed] = None
        return trails

    def _states_on_whole_paths(self, words: Sequence[str]) -> list[frozenset[int]]:
        """Return, before each word and at the end, the resting states on some whole path through the words."""
        network = self._network
        reached = [network.resting_states(network.start)]
        for word in words:
            reached.append(self._after_word(reached[-1], word))
        alive = [frozenset({network.end}) & reached[-1]]
        for position in range(len(words) - 1, -1, -1):
            alive.append(
                frozenset(
                    state
                    for state in reached[position]
                    for spoken, target in network.word_arcs[state]
                    if spoken == words[position] and not network.resting_states(target).isdisjoint(alive[-1])
                )
            )
        return alive[::-1]

    def _after_word(self, states: frozenset[int], word: str) -> frozenset[int]:
        known = self._following.get((states, word))
        if known is None:
            resting: set[int] = set()
            for state in states:
                for spoken, target in self._network.word_arcs[state]:
                    if spoken == word:
                        resting |= self._network.resting_states(target)
            known = self._following[(states, word)] = frozenset(resting)
        return known


def _order(meaning: Meaning) -> tuple[int, str]:
    return len(meaning.parts), repr(meaning)


def _meaning(trail: Trail, word_count: int) -> Meaning:
    """Cut a trail at its starts and make a reading or a command of each piece."""
    starts = [i for i, (_, mark) in enumerate(trail) if mark.kind is MarkKind.START]
    correction = False
    parts: list[Reading | Command] = []
    done = 0
    for index, start in enumerate(starts):
        for _, mark in trail[done:start]:
            if mark.kind is MarkKind.CORRECTION:
                correction = True
            elif mark.kind is MarkKind.CHECKPOINT:
                correction = False
        done = start
        last = index + 1 == len(starts)
        end = len(trail) if last else starts[index + 1]
        first_word = trail[start][0]
        end_word = word_count if last else _first_mark_after(trail, end)
        piece = [mark for _, mark in trail[start:end]]
        parts.append(_part(piece, first_word, end_word, correction=correction))
    return Meaning(tuple(parts))


def _first_mark_after(trail: Trail, end: int) -> int:
    """Return the word at which the piece before `end` ends, lead words of the next call left out."""
    position = trail[end][0]
    while end and trail[end - 1][1].kind in (MarkKind.CORRECTION, MarkKind.CHECKPOINT):
        end -= 1
        position = trail[end][0]
    return position


def _part(marks: list[Mark], first_word: int, end_word: int, *, correction: bool) -> Reading | Command:
    said = {mark.kind: mark.text for mark in marks}
    if MarkKind.COMMAND in said:
        return Command(CommandKind(said[MarkKind.COMMAND]), "", first_word, end_word)
    if MarkKind.NOTE in said:
        return Command(CommandKind.NOTE, said[MarkKind.NOTE], first_word, end_word)
    if MarkKind.HOUR in said:
        value = _minutes_after_midnight(said)
    else:
        value = Decimal("".join(mark.text for mark in marks if mark.kind is MarkKind.DIGITS))
        if MarkKind.NEGATIVE in said:
            value = -value
    return Reading(said[MarkKind.QUANTITY], value, said[MarkKind.UNIT], correction, first_word, end_word)


def _minutes_after_midnight(said: dict[MarkKind, str]) -> Decimal:
    hour = int(said[MarkKind.HOUR])
    half = said[MarkKind.HALF_DAY]
    if half != "24":
        hour = hour % 12 + (12 if half == "pm" else 0)
    return Decimal((hour * 60 + int(said[MarkKind.MINUTE])) % (24 * 60))
