"""Graphs as OpenFst files, read back by OpenFst itself (through PyPI's kaldifst, in a process of its own)."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from logger.recognisers.kaldi_graph import Arc, Graph

READ = """
import json, sys, kaldifst
graph = kaldifst.StdVectorFst.read(sys.argv[1])
print(json.dumps({
    "start": graph.start,
    "arcs": [[s, a.ilabel, a.olabel, a.weight.value, a.nextstate]
             for s in kaldifst.StateIterator(graph) for a in kaldifst.ArcIterator(graph, s)],
    "finals": [[s, graph.final(s).value] for s in kaldifst.StateIterator(graph) if graph.final(s).value < 1e30],
}))
"""
"""kaldifst and vosk cannot be in one process (see logger/recognisers/kaldi_graph.py)."""


def graph() -> Graph:
    """Return a small graph."""
    made = Graph()
    end = made.state()
    made.arc(0, end, taken=4, given=7, cost=0.5)
    made.arc(0, end, taken=2, given=9)
    made.arc(end, end, taken=3)
    made.finals[end] = 1.25
    return made


@pytest.mark.parametrize("by_given", [False, True])
def test_openfst_reads_what_was_written(tmp_path: Path, *, by_given: bool) -> None:
    """States, arcs in the order asked for, costs and the end come back as they were put in."""
    path = tmp_path / "graph.fst"
    path.write_bytes(graph().to_bytes(by_given=by_given))

    done = subprocess.run([sys.executable, "-c", READ, str(path)], capture_output=True, text=True, check=True)

    read = json.loads(done.stdout)
    assert 0 == read["start"]
    assert [[1, 1.25]] == read["finals"]
    leaving = [Arc(0, 4, 7, 0.5, 1), Arc(0, 2, 9, 0.0, 1)]
    expected = [*(leaving if by_given else leaving[::-1]), Arc(1, 3, 0, 0.0, 1)]
    assert [[a.source, a.taken, a.given, a.cost, a.target] for a in expected] == read["arcs"]
