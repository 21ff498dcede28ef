"""How far the moments of captured sound are from when it was played."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logger.core.captured import joined
from logger.model import RATE_HZ, CapturedBlock

PIECE_SAMPLES = RATE_HZ // 2
WORD_SAMPLES = RATE_HZ // 5


def known_sound(seconds: float, seed: int = 5) -> NDArray[np.int16]:
    """Noise below 6 kHz (no resampler keeps all up to 8), which is like itself at one place only."""
    noise = np.random.default_rng(seed).normal(0, 3000, round(seconds * RATE_HZ))
    waves = np.fft.rfft(noise)
    waves[np.fft.rfftfreq(len(noise), 1 / RATE_HZ) > 6000] = 0
    return np.rint(np.fft.irfft(waves, len(noise))).astype(np.int16)


def lag(known: NDArray[np.int16], captured: NDArray[np.int16]) -> tuple[int, float]:
    """The sample of `known` at which a shorter capture begins, and their correlation there."""
    size = 1 << (len(known) + len(captured)).bit_length()
    product = np.fft.rfft(known, size) * np.conj(np.fft.rfft(captured, size))
    places = len(known) - len(captured) + 1
    energy = np.concatenate(([0.0], np.cumsum(known.astype(np.float64) ** 2)))
    # By how loud each place is, or a faint piece would be found wherever somebody shouts.
    loudness = np.sqrt(energy[len(captured) :][:places] - energy[:places] + len(captured))
    at = int((np.fft.irfft(product, size)[:places] / loudness).argmax())
    return at, float(np.corrcoef(known[at : at + len(captured)], captured)[0, 1])


def share_heard(known: NDArray[np.int16], words: NDArray[np.int16]) -> float:
    """The share of some words' fifths of a second that are found in a longer sound.

    A busy machine loses moments of what it plays, and each moment puts all that follows it in another place; a piece
    between two of them is whole. The same voice saying something else is alike by 0.85 at the most.
    """
    pieces = [words[at : at + WORD_SAMPLES] for at in range(0, len(words) - WORD_SAMPLES + 1, WORD_SAMPLES)]
    return float(np.mean([lag(known, piece)[1] > 0.9 for piece in pieces if piece.any()]))


def late_ms(
    known: NDArray[np.int16], blocks: list[CapturedBlock], began_ns: int, *, pieces: int = 12
) -> NDArray[np.float64]:
    """How much later than they were played some pieces of half a second are stamped, each at a block's beginning."""
    sound = joined(blocks)
    first = blocks[0].first_sample
    starts = {block.first_sample - first: block.start_mono_ns for block in blocks}
    late = []
    for at in sorted(starts)[:: max(1, len(starts) // pieces)]:
        piece = sound[at : at + PIECE_SAMPLES]
        if len(piece) == PIECE_SAMPLES:
            played, alike = lag(known, piece)
            assert alike > 0.99, "what is captured is not what was played"
            late.append((starts[at] - began_ns - played * 1e9 / RATE_HZ) / 1e6)
    return np.array(late)
