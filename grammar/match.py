"""Recognised words -> every meaning they have. Ambiguity is kept, never guessed away.

Words outside the language give no meaning at all. Pure; costs time linear in the words.

A drive's calls walk the same few thousand paths of the network over and over. So the network is made deterministic
as far as calls go through it, and no further: what has been worked out for a word once is a look-up from then on.
That takes three passes over the words:

1. forwards, what the words so far can lead to (`_Reached`); nothing: they are no phrase of ours;
2. backwards, which of these states the words still to come lead on to the end (`_Alive`), so that the third pass
   follows nothing in vain;
3. forwards through these alone (`_Front`), gathering marks.

What the passes remember is bounded by the language, not by the calls: ten thousand calls and twenty thousand spoilt
ones leave ten megabytes, and words outside the language leave nothing. Parts are as many as there are numbers, so
only the last `MOST_PARTS` are kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from itertools import islice, pairwise

from grammar.network import Marks, Network
from grammar.nodes import Mark, MarkKind
from grammar.readings import Command, CommandKind, Meaning, Reading

MOST_TRAILS = 256
"""Meanings followed at once. No phrase a person says in one breath comes near; a bound keeps memory flat."""

MOST_PARTS = 1 << 14
"""Readings and commands whose meaning is remembered: more than a drive has, and eight megabytes."""

_LEADS = (MarkKind.CORRECTION, MarkKind.CHECKPOINT)


@dataclass(frozen=True, slots=True, eq=False)
class _Placed:
    """All marks before one word, cut where a part starts. One object for equal marks, so it is its own key.

    Attributes:
        marks: the marks that still belong to what was said before; all of them when nothing starts here.
        opening: the marks from the start of a part on; None when nothing starts here.
    """

    marks: Marks
    opening: _Placed | None


Trail = tuple[_Placed, ...]
"""The marks before each word in turn and, when it is whole, those after the last."""


@dataclass(frozen=True, slots=True, eq=False)
class _Reached:
    """The resting states that some words lead to, whatever follows.

    Attributes:
        states: these states.
        after: per word, where it leads; filled when first asked for.
    """

    states: frozenset[int]
    after: dict[str, _Reached] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class _Alive:
    """The resting states at one word from which the remaining words lead to the end.

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
    """

    states: tuple[int, ...]
    steps: dict[tuple[str, _Alive], _Step] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class _Step:
    """One word's way from front to front.

    Attributes:
        front: the front after it.
        ways: per state of that front, the ways there: (place of a state in the old front, marks gathered).
    """

    front: _Front
    ways: tuple[tuple[tuple[int, _Placed], ...], ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """What a stretch of marks means, wherever in a phrase it stands.

    Attributes:
        said: the reading or command, without its place in the phrase; None for what is before the first.
        word_count: how many words it has, lead words of the next left out.
        correction: whether the readings after it are a correction (True) or a checkpoint (False), None if it
            does not say.
    """

    said: Reading | Command | None
    word_count: int
    correction: bool | None


class Matcher:
    """Matches phrases against one network; remembers what it has worked out, so keep one for a drive.

    Threads may share one: each fact is worked out whole before it is remembered, and is the same whoever does it.
    """

    def __init__(self, network: Network) -> None:
        self._network = network
        self._placed: dict[Marks, _Placed] = {}
        self._openings: dict[Marks, _Placed] = {}
        self._reached: dict[frozenset[int], _Reached] = {}
        self._alive: dict[frozenset[int], _Alive] = {}
        self._fronts: dict[tuple[int, ...], _Front] = {}
        self._part = lru_cache(MOST_PARTS)(_part)
        self._start = self._reached_states([network.start])
        self._end = _Alive(frozenset({network.end}))
        self._first_steps: dict[_Alive, _Step] = {}

    def match(self, words: Sequence[str]) -> tuple[Meaning, ...]:
        """Return every meaning of a phrase, each once, in a stable order; empty when it is none of ours."""
        trails = self._trails(words)
        if len(trails) == 1:
            return (self._meaning(trails[0]),)
        return tuple(sorted({self._meaning(trail) for trail in trails}, key=_order))

    def _trails(self, words: Sequence[str]) -> list[Trail]:
        """Return the marks along each whole path through the words, each once."""
        alive = self._alive_along(words)
        if not alive:
            return []
        step = self._first_steps.get(alive[0])
        if step is None:
            step = self._first_steps[alive[0]] = self._step([(0, self._network.start)], alive[0])
        trails = [_gathered([[()]], ways) for ways in step.ways]
        for word, next_alive in zip(words, islice(alive, 1, None), strict=True):
            front = step.front
            step = front.steps.get((word, next_alive)) or self._step_from(front, word, next_alive)
            trails = [_gathered(trails, ways) for ways in step.ways]
        return trails[0]  # only the end is alive at the end

    def _alive_along(self, words: Sequence[str]) -> list[_Alive]:
        """Return what is alive before each word and at the end; nothing when the words are none of ours."""
        here = self._start
        passed: list[tuple[_Reached, str]] = []
        for word in words:
            following = here.after.get(word) or self._reached_from(here, word)
            if following is None:
                return []
            passed.append((here, word))
            here = following
        if self._network.end not in here.states:
            return []
        alive = [self._end]
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
        following = here.after[word] = self._reached_states(arrived)
        return following

    def _reached_states(self, arrived: Iterable[int]) -> _Reached:
        states = frozenset().union(*map(self._network.resting_states, arrived))
        return self._reached.setdefault(states, _Reached(states))

    def _alive_before(self, later: _Alive, reached: _Reached, word: str) -> _Alive:
        """Work out which of the states reached before a word lead by it to what is alive after it."""
        network = self._network
        states = frozenset(
            state
            for state in reached.states
            for target in network.targets(state, word)
            if not network.resting_states(target).isdisjoint(later.states)
        )
        earlier = later.before[reached, word] = self._alive.setdefault(states, _Alive(states))
        return earlier

    def _step_from(self, front: _Front, word: str, alive: _Alive) -> _Step:
        """Work out where a word leads the trails of a front."""
        arrived = [
            (place, target)
            for place, state in enumerate(front.states)
            for target in self._network.targets(state, word)
        ]
        step = front.steps[word, alive] = self._step(arrived, alive)
        return step

    def _step(self, arrived: list[tuple[int, int]], alive: _Alive) -> _Step:
        """Go on, without a further word, from where trails arrived: (place in the old front, state) pairs."""
        places: dict[int, list[int]] = {}
        for place, state in arrived:
            places.setdefault(state, []).append(place)
        ways: dict[int, list[tuple[int, _Placed]]] = {}
        for state, sources in places.items():
            for marks, target in self._network.marked_moves(state):
                if target in alive.states:
                    ways.setdefault(target, []).extend((place, self._place(marks)) for place in sources)
        states = tuple(ways)
        front = self._fronts.setdefault(states, _Front(states))
        return _Step(front, tuple(map(tuple, ways.values())))

    def _place(self, marks: Marks) -> _Placed:
        known = self._placed.get(marks)
        if known is None:
            start = next((i for i, mark in enumerate(marks) if mark.kind is MarkKind.START), None)
            placed = (
                _Placed(marks, None)
                if start is None
                else _Placed(marks[:start], self._opening(marks[start:]))
            )
            known = self._placed.setdefault(marks, placed)
        return known

    def _opening(self, marks: Marks) -> _Placed:
        return self._openings.setdefault(marks, _Placed(marks, None))

    def _meaning(self, trail: Trail) -> Meaning:
        """Cut a trail where parts start and make a reading or a command of each."""
        cuts = [position for position, placed in enumerate(trail) if placed.opening is not None]
        cuts.append(len(trail) - 1)
        correction = self._part(trail[: cuts[0] + 1]).correction or False
        parts: list[Reading | Command] = []
        for start, end in pairwise(cuts):
            part = self._part((trail[start].opening or trail[start], *trail[start + 1 : end + 1]))
            said, end_word = part.said, start + part.word_count
            if isinstance(said, Reading):
                parts.append(Reading(said.quantity, said.value, said.unit, correction, start, end_word))
            elif said is not None:
                parts.append(Command(said.kind, said.text, start, end_word))
            if part.correction is not None:
                correction = part.correction
        return Meaning(tuple(parts))


def _gathered(trails: list[list[Trail]], ways: tuple[tuple[int, _Placed], ...]) -> list[Trail]:
    """Return the trails that arrive in one state, each once."""
    if len(ways) == 1:  # nearly always, and then different trails stay different
        place, placed = ways[0]
        return [(*trail, placed) for trail in trails[place]]
    found = dict.fromkeys((*trail, placed) for place, placed in ways for trail in trails[place])
    return list(islice(found, MOST_TRAILS))


def _order(meaning: Meaning) -> tuple[int, str]:
    return len(meaning.parts), repr(meaning)


def _part(stretch: Trail) -> _Part:
    """Return what the marks before a part, or from its start to the next, mean."""
    marks = [(offset, mark) for offset, placed in enumerate(stretch) for mark in placed.marks]
    correction = None
    word_count = len(stretch) - 1
    for offset, mark in reversed(marks):
        if mark.kind not in _LEADS:
            break
        word_count = offset
    for _, mark in marks:
        if mark.kind in _LEADS:
            correction = mark.kind is MarkKind.CORRECTION
    said = _said([mark for _, mark in marks]) if marks and marks[0][1].kind is MarkKind.START else None
    return _Part(said, word_count, correction)


def _said(marks: list[Mark]) -> Reading | Command:
    said = {mark.kind: mark.text for mark in marks}
    if MarkKind.COMMAND in said:
        return Command(CommandKind(said[MarkKind.COMMAND]))
    if MarkKind.NOTE in said:
        return Command(CommandKind.NOTE, said[MarkKind.NOTE])
    if MarkKind.HOUR in said:
        value = _minutes_after_midnight(said)
    else:
        value = Decimal("".join(mark.text for mark in marks if mark.kind is MarkKind.DIGITS))
        if MarkKind.NEGATIVE in said:
            value = -value
    return Reading(said[MarkKind.QUANTITY], value, said[MarkKind.UNIT])


def _minutes_after_midnight(said: dict[MarkKind, str]) -> Decimal:
    hour = int(said[MarkKind.HOUR])
    half = said[MarkKind.HALF_DAY]
    if half != "24":
        hour = hour % 12 + (12 if half == "pm" else 0)
    return Decimal((hour * 60 + int(said[MarkKind.MINUTE])) % (24 * 60))
