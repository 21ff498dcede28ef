"""Where a piece of sound was played is found, however faint it is beside what was played elsewhere."""

from __future__ import annotations

import numpy as np
from stamps import known_sound, lag, share_heard


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


def test_words_are_found_with_moments_lost() -> None:
    """Ten milliseconds of silence come in between every half second, in noise; other sound is not found at all."""
    words = known_sound(3.0)
    lost = np.zeros(160, np.int16)
    pieces = [part for at in range(0, len(words), 8_000) for part in (words[at : at + 8_000], lost)]
    noise = np.random.default_rng(8).normal(0, 300, 96_000)
    sound = noise.astype(np.int16)
    spoken = np.concatenate(pieces)
    sound[20_000 : 20_000 + len(spoken)] += spoken

    assert share_heard(sound, words) > 0.6
    assert 0 == share_heard(sound, known_sound(3.0, seed=6))
