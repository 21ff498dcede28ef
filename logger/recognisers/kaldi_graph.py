"""Decoding graphs as plain data, and as the bytes OpenFst reads.

Written here rather than by an OpenFst binding, because the one on PyPI (kaldifst) and Vosk cannot live in one process:
importing vosk after it hangs for ever in the loader.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass, field
from typing import NamedTuple

_MAGIC = 2125659606
"""The number every OpenFst file begins with."""
_EXPANDED_AND_MUTABLE = 3
"""The properties of a vector FST; the others are left for the reader to work out."""


class Arc(NamedTuple):
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

    def arc(self, source: int, target: int, taken: int = 0, given: int = 0, cost: float = 0.0) -> None:
        """Add a way from one state to another."""
        self.arcs.append(Arc(source, taken, given, cost, target))

    def to_bytes(self, *, by_given: bool = False) -> bytes:
        """Return the graph as an OpenFst file (vector type, standard arcs), arcs sorted by one of their labels."""
        leaving: list[list[Arc]] = [[] for _ in range(self.states)]
        for arc in self.arcs:
            leaving[arc.source].append(arc)
        parts = [struct.pack("<i", _MAGIC)]
        parts += [struct.pack("<i", len(name)) + name for name in (b"vector", b"standard")]
        parts.append(struct.pack("<iiQqqq", 2, 0, _EXPANDED_AND_MUTABLE, 0, self.states, len(self.arcs)))
        for state, arcs in enumerate(leaving):
            parts.append(struct.pack("<fq", self.finals.get(state, math.inf), len(arcs)))
            arcs.sort(key=lambda arc: (arc.given, arc.taken) if by_given else (arc.taken, arc.given))
            parts += [struct.pack("<iifi", arc.taken, arc.given, arc.cost, arc.target) for arc in arcs]
        return b"".join(parts)
