"""Where a piece of sound was played is found, however faint it is beside what was played elsewhere."""

from __future__ import annotations

import numpy as np
from stamps import lag


def test_a_faint_piece_is_found_between_loud_ones() -> None:
    """Each half second of faint noise with bursts a hundred times as loud is found where it was cut out."""
    rng = np.random.default_rng(7)
    sound = rng.normal(0, 60, 64_000)
    for begin in range(4_000, 64_000, 16_000):
        sound[begin : begin + 6_000] += 6_000 * np.sin(np.arange(6_000) * (0.05 + begin / 1e6))
    known = sound.astype(np.int16)

    for begin in range(0, 56_000, 1_777):
        at, alike = lag(known, known[begin : begin + 8_000])
        assert (begin, True) == (at, alike > 0.999)
