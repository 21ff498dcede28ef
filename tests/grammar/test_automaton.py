"""The minimal automaton against an independent reduction."""

from __future__ import annotations

from grammar import Language, Phrasebook
from grammar.automaton import Automaton, minimal_automaton
from grammar.network import Network
from grammar.nodes import Rule, choice, seq


def _reversed_and_determinised(
    arcs: set[tuple[int, str, int]], starts: set[int], ends: set[int]
) -> tuple[set[tuple[int, str, int]], set[int], set[int]]:
    first = frozenset(ends)
    number = {first: 0}
    todo, out = [first], set()
    for subset in todo:
        words = {word for source, word, target in arcs if target in subset}
        for word in words:
            before = frozenset(s for s, w, t in arcs if w == word and t in subset)
            if before not in number:
                number[before] = len(todo)
                todo.append(before)
            out.add((number[subset], word, number[before]))
    return out, {0}, {n for subset, n in number.items() if subset & starts}


def test_as_small_as_brzozowski_makes_it() -> None:
    """Reversing and determinising twice gives the minimal automaton (Brzozowski 1962, from memory)."""
    node = Rule("r", seq(choice("a b", "c b", "a d"), choice("e", "e f", "g f")))
    automaton = minimal_automaton(Network(node))
    arcs = {(s, w, t) for s, row in enumerate(automaton.arcs) for w, t in row.items()}
    once = _reversed_and_determinised(arcs, {0}, set(automaton.finals))
    twice = _reversed_and_determinised(*once)

    states = {0} | {s for s, _, _ in twice[0]} | {t for _, _, t in twice[0]}
    assert len(states) == len(automaton.arcs)


def test_accepts_only_whole_phrases() -> None:
    """A prefix is no phrase."""
    automaton: Automaton = Language(Phrasebook()).automaton

    assert automaton.accepts(["checkpoint", "sixty", "percent"])
    assert not automaton.accepts(["checkpoint", "sixty"])
