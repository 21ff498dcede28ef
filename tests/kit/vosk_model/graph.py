"""Decoding graphs as plain data, and as the bytes OpenFst reads.

A graph is written here rather than by an OpenFst binding, because the one on PyPI (kaldifst) and Vosk cannot
live in one process: importing vosk after it hangs for ever in the loader.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass, field
from pathlib import Path

from vosk_model.phones import SILENCE, Lexicon, exit_id, loop_id, phone_of, placed

SILENCE_COST = 0.7
SOUND_COST = 0.7
WORD_COST = 1.0
"""Natural log: what each silence, each new sound and each new word costs, against chopping long sounds up."""
MAGIC = 2125659606
"""The number every OpenFst file begins with."""
EXPANDED_AND_MUTABLE = 3
"""The properties of a vector FST; the others are left for the reader to work out."""


@dataclass(frozen=True, slots=True)
class Arc:
    """From a state to a state: takes one label (0: none), gives one (0: none), at a cost in natural log."""

    source: int
    taken: int
    given: int
    cost: float
    target: int


@dataclass(slots=True)
class Graph:
    """A weighted transducer that begins in state 0."""

    arcs: list[Arc] = field(default_factory=list)
    finals: dict[int, float] = field(default_factory=dict)
    states: int = 1

    def state(self) -> int:
        """Add a state and return it."""
        self.states += 1
        return self.states - 1

    def phone(self, source: int, phone: int, word: int = 0, cost: float = 0.0) -> int:
        """Add one phone after `source` and return the state it leads to: exit first, then self-loops."""
        target = self.state()
        self.arcs.append(Arc(source, exit_id(phone), word, cost, target))
        self.arcs.append(Arc(target, loop_id(phone), 0, 0.0, target))
        return target

    def skip(self, source: int, target: int, cost: float = 0.0) -> None:
        """Add a way from `source` to `target` that takes nothing."""
        self.arcs.append(Arc(source, 0, 0, cost, target))

    def write(self, path: Path, *, by_given: bool = False) -> None:
        """Write the graph as an OpenFst file (vector type, standard arcs), arcs sorted by one of their labels."""
        leaving: list[list[Arc]] = [[] for _ in range(self.states)]
        for arc in self.arcs:
            leaving[arc.source].append(arc)
        parts = [struct.pack("<i", MAGIC)]
        parts += [struct.pack("<i", len(name)) + name for name in (b"vector", b"standard")]
        parts.append(struct.pack("<iiQqqq", 2, 0, EXPANDED_AND_MUTABLE, 0, self.states, len(self.arcs)))
        for state, arcs in enumerate(leaving):
            parts.append(struct.pack("<fq", self.finals.get(state, math.inf), len(arcs)))
            arcs.sort(key=lambda arc: (arc.given, arc.taken) if by_given else (arc.taken, arc.given))
            parts += [struct.pack("<iifi", arc.taken, arc.given, arc.cost, arc.target) for arc in arcs]
        path.write_bytes(b"".join(parts))


def word_graph(lexicon: Lexicon, numbers: dict[str, int]) -> Graph:
    """Return transition-ids -> words: any words, silence before and after each if it wants to."""
    made = Graph()
    between, ready = 0, made.state()
    made.finals[ready] = 0.0
    made.skip(between, ready, SILENCE_COST)
    made.skip(made.phone(between, phone_of(SILENCE), cost=SILENCE_COST), ready)
    for word, ways in lexicon.items():
        for way in ways:
            state = ready
            for index, phone in enumerate(placed(way)):
                given, cost = (numbers[word], WORD_COST) if index == 0 else (0, 0.0)
                state = made.phone(state, phone, given, cost + SOUND_COST)
            made.skip(state, between)
    return made


def loop_of_words(words: int) -> Graph:
    """Return words -> the same words, any number of them, all as likely; words are numbered from 1."""
    loops = [Arc(0, number, number, math.log(words), 0) for number in range(1, words + 1)]
    return Graph(loops, {0: 0.0})


def looped(lower: Graph, words: int) -> Graph:
    """Return `lower` composed with `loop_of_words`: that has one state, so only the costs of words change."""
    arcs = [
        Arc(arc.source, arc.taken, arc.given, arc.cost + (math.log(words) if arc.given else 0.0), arc.target)
        for arc in lower.arcs
    ]
    return Graph(arcs, dict(lower.finals), lower.states)
