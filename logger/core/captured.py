"""A run of captured blocks as one piece of sound, and when each of its samples was heard. Pure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from logger.model import RATE_HZ, CapturedBlock, Samples


def joined(blocks: Sequence[CapturedBlock]) -> Samples:
    """Return the samples of blocks one after the other; what was lost between them is left out."""
    if not blocks:
        return np.empty(0, np.int16)
    return np.concatenate([block.samples for block in blocks])


def moment_mono_ns(blocks: Sequence[CapturedBlock], sample: int) -> int:
    """Return when a sample of the joined blocks was heard, by the block that holds it.

    Raises:
        IndexError: there is no such sample.
    """
    for block in blocks:
        if 0 <= sample < len(block.samples):
            return block.start_mono_ns + sample * 1_000_000_000 // RATE_HZ
        sample -= len(block.samples)
    raise IndexError("no such sample in the blocks")
