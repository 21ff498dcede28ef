"""What `speaking` wrote, read back, also while it still writes."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from call_model.bands import RATE_HZ

LONGEST_S = 9.0


@dataclass(frozen=True, slots=True)
class Utterance:
    """Where one utterance lies in the corpus' sound, its words, and who says them."""

    begin: int
    samples: int
    words: tuple[str, ...]
    voice: str


def voices(folder: Path) -> frozenset[str]:
    """Return who says something in what was spoken so far."""
    parts = sorted(folder.glob("part-*.json"))
    return frozenset(item["voice"] for path in parts for item in json.loads(path.read_text()))


def read(
    folder: Path, known: frozenset[str], without: frozenset[str] = frozenset()
) -> tuple[NDArray[np.int16], list[Utterance], frozenset[str]]:
    """Return what was spoken since `known`: sound one after the other, utterances in it, names of the parts read.

    Utterances that are too long are left out, and those of the voices in `without`.
    """
    sounds: list[NDArray[np.int16]] = [np.zeros(0, np.int16)]
    found: list[Utterance] = []
    begin = 0
    new = {path.stem: path for path in sorted(folder.glob("part-*.json")) if path.stem not in known}
    for path in new.values():
        sounds.append(np.load(path.with_suffix(".samples.npy")))
        for item in json.loads(path.read_text()):
            if item["samples"] <= LONGEST_S * RATE_HZ and item["voice"] not in without:
                found.append(Utterance(begin, item["samples"], tuple(item["words"].split()), item["voice"]))
            begin += item["samples"]
    return np.concatenate(sounds), found, known | new.keys()
