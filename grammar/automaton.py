"""The language as one deterministic, minimal word automaton: what a recogniser's search takes.

Minimal matters: a recogniser's lattice grows with every parallel path that spells the same words, and a
grammar expanded as written has thousands of them.
"""

from __future__ import annotations

from dataclasses import dataclass

from grammar.network import Network


@dataclass(frozen=True, slots=True)
class Automaton:
    """A deterministic automaton without useless states; state 0 is the start.

    Attributes:
        arcs: per state, word -> next state.
        finals: the states in which a phrase may end.
    """

    arcs: tuple[dict[str, int], ...]
    finals: frozenset[int]

    def accepts(self, words: list[str] | tuple[str, ...]) -> bool:
        """Say whether the words are a phrase of the language."""
        state: int | None = 0
        for word in words:
            state = self.arcs[state].get(word) if state is not None else None
        return state in self.finals

    @property
    def vocabulary(self) -> frozenset[str]:
        """Every word that may be spoken."""
        return frozenset(word for arcs in self.arcs for word in arcs)


def minimal_automaton(network: Network) -> Automaton:
    """Return the minimal automaton of the words a network takes.

    Determinised by the subset construction (Rabin and Scott 1959), then minimised by partition refinement
    (Moore 1956). Every state of a network leads to its end, so no trap state arises.
    """
    start = network.resting_states(network.start)
    number = {start: 0}
    todo = [start]
    arcs: list[dict[str, int]] = []
    for subset in todo:  # grows while it is walked
        out: dict[str, set[int]] = {}
        for state in subset:
            for word, target in network.word_arcs[state]:
                out.setdefault(word, set()).update(network.resting_states(target))
        row: dict[str, int] = {}
        for word in sorted(out):
            following = frozenset(out[word])
            if following not in number:
                number[following] = len(todo)
                todo.append(following)
            row[word] = number[following]
        arcs.append(row)
    finals = {number[subset] for subset in todo if network.end in subset}
    return _minimise(arcs, finals)


def _minimise(arcs: list[dict[str, int]], finals: set[int]) -> Automaton:
    block = [int(state in finals) for state in range(len(arcs))]
    blocks = len(set(block))
    while True:
        signatures: dict[tuple[int, tuple[tuple[str, int], ...]], int] = {}
        new: list[int] = []
        for state, row in enumerate(arcs):
            signature = (block[state], tuple((word, block[target]) for word, target in row.items()))
            new.append(signatures.setdefault(signature, len(signatures)))
        block = new
        if len(signatures) == blocks:
            break
        blocks = len(signatures)
    merged: list[dict[str, int]] = [{} for _ in range(blocks)]
    for state, row in enumerate(arcs):
        merged[block[state]] = {word: block[target] for word, target in row.items()}
    return Automaton(tuple(merged), frozenset(block[state] for state in finals))
