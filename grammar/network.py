"""A phrase laid out as a network of states: word arcs, and empty arcs that may carry a mark (Thompson 1968).

Both uses of the language stand on it: the automaton for the recognisers forgets the marks, the matcher
gathers them.
"""

from __future__ import annotations

from collections.abc import Iterable

from grammar.errors import GrammarError
from grammar.nodes import Choice, Loop, Mark, MarkKind, Node, Rule, Seq, Word

Marks = tuple[Mark, ...]

_OPENING = frozenset({MarkKind.START, MarkKind.CORRECTION, MarkKind.CHECKPOINT})
"""Marks behind which something new begins: the words before them and those after them mean what they mean apart."""
_ALL = frozenset(MarkKind)
_WITHIN = _ALL - _OPENING
"""Marks within one part."""


class Network:
    """States are numbers; built once from a node, then only read (what is worked out is remembered).

    Attributes:
        start: the state before the first word.
        end: the state at the end of a phrase.
        word_arcs: per state, the (word, next state) pairs.
    """

    def __init__(self, node: Node) -> None:
        self.word_arcs: list[list[tuple[str, int]]] = []
        self._empty_arcs: list[list[tuple[Mark | None, int]]] = []
        self._beyond: dict[int, list[int]] = {}
        """Where the arcs with an opening mark lead, per state that has one: the doors."""
        self._targets: dict[int, dict[str, tuple[int, ...]]] = {}
        self._resting: dict[int, frozenset[int]] = {}
        self._resting_beyond: dict[int, frozenset[int]] = {}
        self._marked: dict[int, tuple[tuple[Marks, int], ...]] = {}
        self._closing: dict[int, tuple[tuple[Marks, int], ...]] = {}
        self._arrivals: dict[str, list[int]] = {}
        self._behind: dict[int, frozenset[str]] = {}
        self._opened: dict[int, tuple[tuple[Marks, int], ...]] = {}
        self.start = self._state()
        self.end = self._add(node, self.start)

    def targets(self, state: int, word: str) -> tuple[int, ...]:
        """Return the states to which a word leads from a state."""
        known = self._targets.get(state)
        if known is None:
            known = {}
            for spoken, target in self.word_arcs[state]:
                known[spoken] = (*known.get(spoken, ()), target)
            self._targets[state] = known
        return known.get(word, ())

    def resting_states(self, state: int) -> frozenset[int]:
        """Return the states reachable without a word from which a word leads on, or in which a phrase ends."""
        known = self._resting.get(state)
        if known is None:
            near = self._reachable([state])
            behind = [self._resting_behind(door) for door in near if door in self._beyond]
            known = frozenset([s for s in near if self.word_arcs[s] or s == self.end]).union(*behind)
            self._resting[state] = known
        return known

    def _resting_behind(self, door: int) -> frozenset[int]:
        """Return the same of the states behind a door; there are few doors, and much is behind each."""
        known = self._resting_beyond.get(door)
        if known is None:
            known = frozenset().union(*map(self.resting_states, self._beyond[door]))
            self._resting_beyond[door] = known
        return known

    def marked_moves(self, state: int) -> tuple[tuple[Marks, int], ...]:
        """Return the (marks, resting state) pairs reachable without a word."""
        known = self._marked.get(state)
        if known is None:
            known = self._marked[state] = self._walk_marked(state)
        return known

    def opening_moves(self, door: int) -> tuple[tuple[Marks, int], ...]:
        """Return the (marks, resting state) pairs reachable without a word by an opening mark right behind a state.

        A state with such an arc is a door: what leads up to it and what leads on from it are apart.
        """
        known = self._opened.get(door)
        if known is None:
            found = {
                ((mark, *marks), target): None
                for mark, behind in reversed(self._empty_arcs[door])
                if mark is not None and mark.kind in _OPENING
                for marks, target in self.marked_moves(behind)
            }
            known = self._opened[door] = tuple(found)
        return known

    def closing_moves(self, state: int) -> tuple[tuple[Marks, int], ...]:
        """Return the (marks, door or end) pairs reachable without a word and without an opening mark."""
        known = self._closing.get(state)
        if known is None:
            found = self._walked(state, _WITHIN)
            known = self._closing[state] = tuple(
                (marks, target) for marks, target in found if target == self.end or target in self._beyond
            )
        return known

    def words_after(self, word: str) -> tuple[frozenset[str], frozenset[str]] | None:
        """Return which words may follow a word without a door between them, and which behind a door; None, if it is none."""
        if not self._arrivals:
            arrivals: dict[str, list[int]] = {}
            for arcs in self.word_arcs:
                for spoken, target in arcs:
                    arrivals.setdefault(spoken, []).append(target)
            self._arrivals = arrivals
        if word not in self._arrivals:
            return None
        near = self._reachable(self._arrivals[word])
        beyond = [self._words_behind(state) for state in near if state in self._beyond]
        return self._words_at(near), frozenset().union(*beyond)

    def _words_behind(self, door: int) -> frozenset[str]:
        known = self._behind.get(door)
        if known is None:
            targets = {target for _, target in self.opening_moves(door)}
            known = self._behind[door] = self._words_at(targets)
        return known

    def _words_at(self, states: Iterable[int]) -> frozenset[str]:
        return frozenset([word for state in states for word, _ in self.word_arcs[state]])

    def _walk_marked(self, state: int) -> tuple[tuple[Marks, int], ...]:
        resting = self.resting_states(state)
        found = self._walked(state, _ALL)
        return tuple((marks, target) for marks, target in found if target in resting)

    def _reachable(self, states: Iterable[int]) -> set[int]:
        """Return the states reachable without a word and without an opening mark, those begun from among them."""
        seen = set(states)
        stack = list(seen)
        while stack:
            for mark, target in self._empty_arcs[stack.pop()]:
                if target not in seen and (mark is None or mark.kind in _WITHIN):
                    seen.add(target)
                    stack.append(target)
        return seen

    def _walked(self, state: int, kinds: frozenset[MarkKind]) -> dict[tuple[Marks, int], None]:
        """Return the (marks, state) pairs reachable without a word by marks of some kinds alone."""
        found: dict[tuple[Marks, int], None] = {}
        stack: list[tuple[Marks, int]] = [((), state)]
        while stack:
            marks, here = stack.pop()
            if (marks, here) in found:
                continue
            found[(marks, here)] = None
            for mark, target in self._empty_arcs[here]:
                if mark is None:
                    stack.append((marks, target))
                elif mark.kind in kinds:
                    stack.append(((*marks, mark), target))
        return found

    def _state(self) -> int:
        self.word_arcs.append([])
        self._empty_arcs.append([])
        return len(self.word_arcs) - 1

    def _lead(self, source: int, mark: Mark | None, target: int) -> None:
        """Add an empty arc."""
        self._empty_arcs[source].append((mark, target))
        if mark is not None and mark.kind in _OPENING:
            self._beyond.setdefault(source, []).append(target)

    def _add(self, node: Node, source: int) -> int:
        """Add a node after a state; return the state after it. Raises GrammarError on an empty loop."""
        match node:
            case Word(text):
                target = self._state()
                self.word_arcs[source].append((text, target))
                return target
            case Mark():
                target = self._state()
                self._lead(source, node, target)
                return target
            case Seq(parts):
                for part in parts:
                    source = self._add(part, source)
                return source
            case Choice(options):
                target = self._state()
                for option in options:
                    self._lead(self._add(option, source), None, target)
                return target
            case Rule(_, part):
                return self._add(part, source)
            case Loop(part):
                again = self._state()
                self._lead(source, None, again)
                target = self._add(part, again)
                if self._reaches_without_word(again, target):
                    raise GrammarError("a part that may be empty is repeated")
                self._lead(target, None, again)
                return target
        raise GrammarError(f"unknown part {node!r}")

    def _reaches_without_word(self, source: int, target: int) -> bool:
        seen = {source}
        stack = [source]
        while stack:
            for _, following in self._empty_arcs[stack.pop()]:
                if following == target:
                    return True
                if following not in seen:
                    seen.add(following)
                    stack.append(following)
        return False
