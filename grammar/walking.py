"""The ways through a network by a few words, from states where parts may begin to states where the next ones may. Pure.

A drive's calls walk the same few thousand paths of the network over and over. So the network is made deterministic
as far as calls go through it, and no further: what has been worked out for a word once is a look-up from then on.
That takes three passes over the words:

1. forwards, what the words so far can lead to (`_Reached`); nothing: they are no phrase of ours;
2. backwards, which of these states the words still to come lead on from (`_Alive`), so that the third pass
   follows nothing in vain;
3. forwards through these alone (`_Front`), gathering marks.

What the passes remember is bounded by the language, not by the calls: ten thousand calls and twenty thousand spoilt
ones leave ten megabytes, and words outside the language leave nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import islice

from grammar.network import Marks, Network
from grammar.nodes import MarkKind

MOST_TRAILS = 256
"""Meanings followed at once. No phrase a person says in one breath comes near; a bound keeps memory flat."""


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """All marks before one word, cut where a part starts. One object for equal marks, so it is its own key.

    Attributes:
        marks: the marks that still belong to what was said before; all of them when nothing starts here.
        opening: the marks from the start of a part on; None when nothing starts here.
    """

    marks: Marks
    opening: Placed | None


Trail = tuple[Placed, ...]
"""The marks before each word in turn and, when it is whole, those after the last."""


@dataclass(frozen=True, slots=True, eq=False)
class Crossing:
    """The ways of some words from states to states, of which each may be anywhere in a network.

    Attributes:
        exits: the states at which the ways end, those to which the same ways lead together.
        ways: for each group of exits, (place of a state in those begun from, marks gathered).
    """

    exits: tuple[tuple[int, ...], ...]
    ways: tuple[tuple[tuple[int, Trail], ...], ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Reached:
    """The resting states that some words lead to, whatever follows.

    Attributes:
        states: these states.
        after: per word, where it leads; filled when first asked for.
        last: per word, which of the states it leads from to where words may end; filled when first asked for.
    """

    states: frozenset[int]
    after: dict[str, _Reached] = field(default_factory=dict)
    last: dict[str, _Alive] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class _Alive:
    """The resting states at one word from which it and the remaining words lead on.

    Attributes:
        states: these states.
        before: what is alive a word earlier, by what was reached there and that word; filled when first asked for.
    """

    states: frozenset[int]
    before: dict[tuple[_Reached, str], _Alive] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class _Front:
    """The states in which trails stand, in the order in which trails came there.

    Attributes:
        states: these states.
        steps: where trails go, by the next word and what is alive after it; filled when first asked for.
        last: where they end, by the last word; filled when first asked for.
    """

    states: tuple[int, ...]
    steps: dict[tuple[str, _Alive], _Step] = field(default_factory=dict)
    last: dict[str, _Step] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class _Step:
    """One word's way from front to front.

    Attributes:
        front: the front after it.
        ways: per state of that front, the ways there: (place of a state in the old front, marks gathered).
    """

    front: _Front
    ways: tuple[tuple[tuple[int, Placed], ...], ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Entry:
    """The states that words begin from.

    Attributes:
        moves: (place of such a state, marks, resting state) before the first word.
        reached: these resting states.
        steps: where trails go before the first word, by what is alive there; filled when first asked for.
    """

    moves: tuple[tuple[int, Marks, int], ...]
    reached: _Reached
    steps: dict[_Alive, _Step] = field(default_factory=dict)


class Walker:
    """Walks one network; remembers what it has worked out.

    Threads may share one: each fact is worked out whole before it is remembered, and is the same whoever does it.
    """

    def __init__(self, network: Network) -> None:
        self._network = network
        self._placed: dict[Marks, Placed] = {}
        self._openings: dict[Marks, Placed] = {}
        self._reached: dict[frozenset[int], _Reached] = {}
        self._alive: dict[frozenset[int], _Alive] = {}
        self._fronts: dict[tuple[int, ...], _Front] = {}
        self._entries: dict[tuple[int, ...], _Entry] = {}

    def crossing(self, begun: tuple[int, ...], words: Sequence[str]) -> Crossing | None:
        """Return the ways of at least one word from the start of the network or from doors; None where there are none."""
        entry = self._entries.get(begun) or self._entry(begun)
        alive = self._alive_along(entry.reached, words)
        if not alive:
            return None
        step = entry.steps.get(alive[0]) or self._first_step(entry, alive[0])
        trails: list[list[tuple[int, Trail]]] = [
            [(place, (placed,)) for place, placed in ways] for ways in step.ways
        ]
        for word, next_alive in zip(words, islice(alive, 1, None), strict=False):
            front = step.front
            step = front.steps.get((word, next_alive)) or self._step_from(front, word, next_alive)
            trails = [_gathered(trails, ways) for ways in step.ways]
        step = step.front.last.get(words[-1]) or self._last_step(step.front, words[-1])
        together: dict[tuple[tuple[int, Placed], ...], list[int]] = {}
        for state, ways in zip(step.front.states, step.ways, strict=True):
            together.setdefault(ways, []).append(state)
        return Crossing(
            tuple(map(tuple, together.values())),
            tuple(tuple(_gathered(trails, ways)) for ways in together),
        )

    def _entry(self, begun: tuple[int, ...]) -> _Entry:
        network = self._network
        moves = tuple(
            (place, marks, target)
            for place, state in enumerate(begun)
            for marks, target in (
                network.marked_moves(state) if state == network.start else network.opening_moves(state)
            )
        )
        reached = self._reached_states(frozenset(target for _, _, target in moves))
        return self._entries.setdefault(begun, _Entry(moves, reached))

    def _alive_along(self, here: _Reached, words: Sequence[str]) -> list[_Alive]:
        """Return what is alive before each word; nothing when the words lead nowhere."""
        passed: list[tuple[_Reached, str]] = []
        last = words[-1]
        for word in islice(words, len(words) - 1):
            following = here.after.get(word) or self._reached_from(here, word)
            if following is None:
                return []
            passed.append((here, word))
            here = following
        ending = here.last.get(last) or self._alive_at_last(here, last)
        if not ending.states:
            return []
        alive = [ending]
        for arrived in reversed(passed):
            later = alive[-1]
            alive.append(later.before.get(arrived) or self._alive_before(later, *arrived))
        alive.reverse()
        return alive

    def _reached_from(self, here: _Reached, word: str) -> _Reached | None:
        """Work out where a word leads; None, which is not remembered, for nowhere."""
        arrived = [target for state in here.states for target in self._network.targets(state, word)]
        if not arrived:
            return None
        states = frozenset().union(*map(self._network.resting_states, arrived))
        following = here.after[word] = self._reached_states(states)
        return following

    def _reached_states(self, states: frozenset[int]) -> _Reached:
        return self._reached.setdefault(states, _Reached(states))

    def _alive_at_last(self, reached: _Reached, word: str) -> _Alive:
        """Work out which of the states reached before the last word lead by it to where words may end."""
        network = self._network
        alive = self._alive_states(
            frozenset(
                state
                for state in reached.states
                for target in network.targets(state, word)
                if network.closing_moves(target)
            )
        )
        if alive.states:
            reached.last[word] = alive
        return alive

    def _alive_before(self, later: _Alive, reached: _Reached, word: str) -> _Alive:
        """Work out which of the states reached before a word lead by it to what is alive after it."""
        network = self._network
        alive = self._alive_states(
            frozenset(
                state
                for state in reached.states
                for target in network.targets(state, word)
                if not network.resting_states(target).isdisjoint(later.states)
            )
        )
        earlier = later.before[reached, word] = alive
        return earlier

    def _alive_states(self, states: frozenset[int]) -> _Alive:
        return self._alive.setdefault(states, _Alive(states))

    def _first_step(self, entry: _Entry, alive: _Alive) -> _Step:
        """Go on, without a word, from where words begin."""
        ways: dict[int, list[tuple[int, Placed]]] = {}
        for place, marks, target in entry.moves:
            if target in alive.states:
                ways.setdefault(target, []).append((place, self._place(marks)))
        step = entry.steps[alive] = self._step(ways)
        return step

    def _step_from(self, front: _Front, word: str, alive: _Alive) -> _Step:
        """Work out where a word leads the trails of a front."""
        ways: dict[int, list[tuple[int, Placed]]] = {}
        for state, sources in self._arrived(front, word).items():
            for marks, target in self._network.marked_moves(state):
                if target in alive.states:
                    ways.setdefault(target, []).extend((place, self._place(marks)) for place in sources)
        step = front.steps[word, alive] = self._step(ways)
        return step

    def _last_step(self, front: _Front, word: str) -> _Step:
        """Work out where the last word leads the trails of a front."""
        ways: dict[int, list[tuple[int, Placed]]] = {}
        for state, sources in self._arrived(front, word).items():
            for marks, target in self._network.closing_moves(state):
                ways.setdefault(target, []).extend((place, self._place(marks)) for place in sources)
        step = front.last[word] = self._step(ways)
        return step

    def _arrived(self, front: _Front, word: str) -> dict[int, list[int]]:
        """Return the states to which a word leads a front, each with the places in the front that it leads from."""
        places: dict[int, list[int]] = {}
        for place, state in enumerate(front.states):
            for target in self._network.targets(state, word):
                places.setdefault(target, []).append(place)
        return places

    def _step(self, ways: dict[int, list[tuple[int, Placed]]]) -> _Step:
        states = tuple(ways)
        front = self._fronts.setdefault(states, _Front(states))
        return _Step(front, tuple(map(tuple, ways.values())))

    def _place(self, marks: Marks) -> Placed:
        known = self._placed.get(marks)
        if known is None:
            start = next((i for i, mark in enumerate(marks) if mark.kind is MarkKind.START), None)
            placed = (
                Placed(marks, None) if start is None else Placed(marks[:start], self._opening(marks[start:]))
            )
            known = self._placed.setdefault(marks, placed)
        return known

    def _opening(self, marks: Marks) -> Placed:
        return self._openings.setdefault(marks, Placed(marks, None))


def _gathered(
    trails: list[list[tuple[int, Trail]]], ways: Sequence[tuple[int, Placed]]
) -> list[tuple[int, Trail]]:
    """Return the trails that arrive in one state, each once, with the place each began from."""
    if len(ways) == 1:  # nearly always, and then different trails stay different
        place, placed = ways[0]
        return [(begun, (*trail, placed)) for begun, trail in trails[place]]
    found = dict.fromkeys(
        (begun, (*trail, placed)) for place, placed in ways for begun, trail in trails[place]
    )
    return list(islice(found, MOST_TRAILS))
