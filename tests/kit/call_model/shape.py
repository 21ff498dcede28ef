"""The sizes of the network."""

from __future__ import annotations

SUBSAMPLING = 3
WIDTH, THIN, FRONT, BEFORE_LAST = 416, 112, 256, 192
DILATIONS = (1, 1, 1, 2, 2, 2, 2, 2, 2)
"""Of the layers at 30 ms: how many of those steps each looks back and ahead."""
CONTEXT = 2 + 1 + 1 + SUBSAMPLING * sum(DILATIONS)
"""Frames of 10 ms seen before and after the one that is told."""
PAST = 0.66
"""How much of a layer's input goes past it."""
