"""A road and a voice, made without a synthesiser, for what looks at sound and not at words."""

from __future__ import annotations

import numpy as np

from logger.model import RATE_HZ, Samples


def road(seconds: float, seed: int = 1, rms: float = 300.0) -> np.ndarray:
    """Return brown-like noise with some hiss: most energy is below 500 Hz."""
    rng = np.random.default_rng(seed)
    count = int(seconds * RATE_HZ)
    hz = np.fft.rfftfreq(count, 1 / RATE_HZ)
    brown = np.fft.irfft(np.fft.rfft(rng.standard_normal(count)) / np.maximum(hz, 40), count)
    sound = brown / np.std(brown) + 0.03 * rng.standard_normal(count)
    return sound * rms


def voice(seconds: float, rms: float = 300.0) -> np.ndarray:
    """Return a buzz at 120 Hz, four syllables a second, each with other formants, a short pause after every sixth."""
    t = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    syllable = (t * 4).astype(int)
    first = np.array([300, 700, 500, 850, 400, 600])[syllable % 6]
    second = np.array([2200, 1200, 900, 1500, 1900, 2500])[syllable * 5 % 6]
    sound = np.zeros_like(t)
    for hz in np.arange(1, 30) * 120.0:
        gain = np.exp(-(((hz - first) / 150) ** 2)) + 0.7 * np.exp(-(((hz - second) / 200) ** 2))
        sound += gain * np.sin(2 * np.pi * hz * t)
    sound *= (0.55 - 0.45 * np.cos(2 * np.pi * 4 * t)) * (syllable % 7 != 6)
    return sound / np.std(sound) * rms


def with_voice(noise: np.ndarray, *spans_s: tuple[float, float], rms: float = 300.0) -> Samples:
    """Return noise with a voice from one second to another."""
    sound = noise.copy()
    for begin_s, end_s in spans_s:
        piece = voice(end_s - begin_s, rms)
        begin = int(begin_s * RATE_HZ)
        sound[begin : begin + len(piece)] += piece
    return np.clip(np.round(sound), -32768, 32767).astype(np.int16)
