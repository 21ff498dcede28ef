"""A short sound that rises, and finding a known sound in what a microphone heard. Pure.

A rise through many pitches is found again in a noisy car where one pitch would drown: held against the capture sample by
sample, it adds up at one place only (a matched filter).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logger.model import RATE_HZ, Samples

_LOW_HZ, _HIGH_HZ = 500.0, 3000.0
"""What small loudspeakers play and cabin noise has little of."""
_FADE_S = 0.03
_AMPLITUDE = 0.35
_LEAST_STRENGTH = 15.0
"""White noise reaches 5 somewhere in 3 s, speech in cabin noise (the sample drive) 10; a tone 40 dB fainter than it was
made, 16 dB below that noise, still has 33 or so."""


@dataclass(frozen=True, slots=True)
class Found:
    """Where a known sound is likeliest to begin in a capture, and how far it stands out there."""

    first_sample: int
    strength: float
    """How many times the usual agreement of all other places; see `is_there`."""

    @property
    def is_there(self) -> bool:
        """Whether it stands out as no chance does."""
        return self.strength >= _LEAST_STRENGTH


def rising_tone(length_s: float = 0.6) -> Samples:
    """Return a tone that rises evenly from 500 to 3000 Hz, faded in and out, at -9 dB of full scale."""
    seconds = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    phase = 2 * np.pi * (_LOW_HZ * seconds + (_HIGH_HZ - _LOW_HZ) / (2 * length_s) * seconds**2)
    edge = np.minimum(seconds, length_s - seconds) / _FADE_S
    shape = np.clip(edge, 0.0, 1.0)
    tone: Samples = np.rint(32767 * _AMPLITUDE * shape * np.sin(phase)).astype(np.int16)
    return tone


def find(known: Samples, captured: Samples) -> Found:
    """Return where `known` is likeliest to begin in `captured`.

    Only the shape counts, not the level, and a loud noise counts no more than its agreement.
    """
    if len(captured) < len(known) or not captured.any():
        return Found(0, 0.0)
    size = 1 << (len(captured) + len(known) - 1).bit_length()
    wave = np.fft.rfft(captured.astype(np.float64), size)
    agreement = np.fft.irfft(wave * np.conj(np.fft.rfft(known.astype(np.float64), size)), size)
    places: NDArray[np.float64] = np.abs(agreement[: len(captured) - len(known) + 1])
    # By its own power, or a slammed door beats a faint tone.
    power = np.cumsum(np.concatenate(([0.0], np.square(captured, dtype=np.float64))))
    around = power[len(known) :] - power[: -len(known)]
    places /= np.sqrt(around + around.max() * 1e-6 + 1.0)
    best = int(places.argmax())
    usual = float(np.sqrt(np.mean(np.square(np.delete(places, _near(best, len(places)))))))
    return Found(best, float(places[best]) / usual if usual > 0.0 else 0.0)


def _near(best: int, count: int) -> NDArray[np.intp]:
    """Return the places beside the best one, which agree because it does."""
    beside = RATE_HZ // 100
    return np.arange(max(0, best - beside), min(count, best + beside + 1))
