"""Which sound each frame is: from flite's own durations, or by the best path of a text through a network."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from vosk_model.phones import SILENCE, SOUNDS, Lexicon

FLITE_NAMES = {"pau": "SIL", "ax": "AH", "axr": "ER", "dx": "T", "ix": "IH", "el": "L", "en": "N", "em": "M"}
"""Where flite's phone set is not CMU's."""
Ints = NDArray[np.int64]


def from_durations(ends: list[tuple[str, float]], frames: int) -> Ints:
    """Return the sound of each 10 ms frame, given where phones end in seconds; the frame's middle decides."""
    middle_s = np.arange(frames) / 100 + 0.0125
    sounds = np.array([SOUNDS.index(FLITE_NAMES.get(name, name.upper())) for name, _ in ends])
    at = np.searchsorted(np.array([end for _, end in ends]), middle_s)
    return sounds[np.minimum(at, len(sounds) - 1)].astype(np.int64)


def _paths(words: list[str], lexicon: Lexicon) -> tuple[Ints, list[tuple[int, int]], list[int]]:
    """Return a graph of states (their sounds), its arcs, and the states a path may end in."""
    sounds = [SILENCE]
    arcs: list[tuple[int, int]] = []
    ready = [0]  # states after which the next word may begin
    for word in words:
        lasts: list[int] = []
        for way in lexicon[word]:
            before = ready
            for sound in way:
                sounds.append(sound)
                arcs += [(state, len(sounds) - 1) for state in before]
                before = [len(sounds) - 1]
            lasts += before
        sounds.append(SILENCE)
        arcs += [(state, len(sounds) - 1) for state in lasts]
        ready = [*lasts, len(sounds) - 1]
    return np.array(sounds), arcs, ready


def best_path(words: list[str], lexicon: Lexicon, scores: NDArray[np.float32]) -> Ints | None:
    """Return the sound of each frame on the best path of `words`; None where they do not fit in.

    Silence must come first and may come after each word; each sound lasts at least one frame.
    """
    sounds, arcs, finals = _paths(words, lexicon)
    count = len(sounds)
    allowed = np.full((count, count), -np.inf, np.float32)
    allowed[np.arange(count), np.arange(count)] = 0
    for source, target in arcs:
        allowed[source, target] = 0
    heard = scores[:, sounds]
    best = np.full(count, -np.inf, np.float32)
    best[0] = heard[0, 0]
    came = np.zeros((len(scores), count), np.int64)
    for frame in range(1, len(scores)):
        candidates = best[:, None] + allowed
        came[frame] = candidates.argmax(axis=0)
        best = candidates[came[frame], np.arange(count)] + heard[frame]
    state = max(finals, key=lambda final: float(best[final]))
    if not np.isfinite(best[state]):
        return None
    states = np.zeros(len(scores), np.int64)
    for frame in range(len(scores) - 1, -1, -1):
        states[frame] = state
        state = int(came[frame, state])
    return sounds[states]
