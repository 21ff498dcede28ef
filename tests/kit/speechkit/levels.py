"""Where speech is in a sound, and how strong: the measures that trimming and mixing share. Pure.

Frames are 20 ms, or 5 ms where the start of speech is looked for. The active level is the mean power of the
frames that are at most 15.9 dB below the mean power of all active frames, found by repetition: the margin of
ITU-T P.56's method B (number from memory), without its smoothing.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from speechkit import RATE_HZ, Samples

Sound = NDArray[np.float64]

VOICE_BAND_HZ = (300.0, 3400.0)
"""The telephone band: what makes speech understood, and what road noise has least of."""

NOMINAL_RMS = 1642.0
"""-26 dB below full scale: the level speech test material is usually brought to (common practice)."""

_FRAME = RATE_HZ // 50
_EDGE_FRAME = RATE_HZ // 200
_MARGIN_DB = 15.9
_ONSET_DB = 35.0


class Measure(StrEnum):
    """Which part of a sound's power counts in a ratio."""

    BAND = "300-3400 Hz"
    """The telephone band alone."""
    A_WEIGHTED = "A-weighted"
    """All of it, weighted as sound level meters do (dBA)."""
    BROADBAND = "broadband"
    """All of it. Most of a cabin's noise is where little of speech is, so a figure in dB looks harder than it is."""


def a_weighting(freq_hz: NDArray[np.floating]) -> Sound:
    """Return the amplitude that A-weighting gives each frequency, 1 at 1 kHz.

    IEC 61672-1, annex E (constants from memory).
    """
    square = np.asarray(freq_hz, dtype=np.float64) ** 2
    high, low = 12_194.217**2, 20.599**2
    middle = np.sqrt((square + 107.653**2) * (square + 737.862**2))
    amplitude: Sound = 10 ** (1.9997 / 20) * high * square**2 / ((square + low) * middle * (square + high))
    return amplitude


def counted(measure: Measure, freq_hz: NDArray[np.floating]) -> Sound:
    """Return the amplitude with which each frequency counts in a measure."""
    match measure:
        case Measure.BAND:
            return ((freq_hz >= VOICE_BAND_HZ[0]) & (freq_hz <= VOICE_BAND_HZ[1])).astype(np.float64)
        case Measure.A_WEIGHTED:
            return a_weighting(freq_hz)
        case Measure.BROADBAND:
            return np.ones(len(freq_hz))


def measured(sound: NDArray[np.floating], measure: Measure) -> Sound:
    """Return what counts of `sound`, weighted in the spectrum of the whole sound."""
    if measure is Measure.BROADBAND:
        return np.asarray(sound, dtype=np.float64)
    spectrum = np.fft.rfft(sound) * counted(measure, np.fft.rfftfreq(len(sound), 1 / RATE_HZ))
    return np.fft.irfft(spectrum, len(sound))


def frame_powers(sound: Sound, frame: int = _FRAME) -> Sound:
    """Return the mean square of each whole frame of `frame` samples; a shorter rest counts as one more."""
    ends = np.arange(0, len(sound), frame)
    sums = np.add.reduceat(sound.astype(np.float64) ** 2, ends)
    return sums / np.diff(np.append(ends, len(sound)))


def active_frames(powers: Sound) -> NDArray[np.bool_]:
    """Return which frames are speech: those within 15.9 dB of the mean power of the frames that are."""
    active = powers > 0
    for _ in range(20):
        if not active.any():
            return active
        now = powers >= powers[active].mean() * 10 ** (-_MARGIN_DB / 10)
        if np.array_equal(now, active):
            break
        active = now
    return active


def active_rms(sound: Sound) -> float:
    """Return the root mean square over the frames that are speech; 0 for silence."""
    powers = frame_powers(sound)
    active = active_frames(powers)
    return float(np.sqrt(powers[active].mean())) if active.any() else 0.0


def extent(sound: Sound) -> tuple[int, int]:
    """Return the samples (first, end) between which somebody speaks.

    The first 5 ms frame and the last that are within 35 dB of the active level bound it (common practice: weak
    first consonants lie some 20-30 dB under the vowels); (0, 0) for silence.
    """
    level = active_rms(sound)
    if level == 0:
        return 0, 0
    loud = np.flatnonzero(frame_powers(sound, _EDGE_FRAME) >= level**2 * 10 ** (-_ONSET_DB / 10))
    return int(loud[0]) * _EDGE_FRAME, min(int(loud[-1] + 1) * _EDGE_FRAME, len(sound))


def to_samples(sound: Sound) -> Samples:
    """Return the sound rounded to int16; what is beyond full scale is clipped."""
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)


def trimmed_to_level(sound: Sound, rms: float = NOMINAL_RMS) -> Sound:
    """Return the part in which somebody speaks, brought to an active level; lowered if it would clip."""
    first, end = extent(sound)
    speech = sound[first:end] * (rms / active_rms(sound)) if end else sound[:0]
    peak = float(np.abs(speech).max(initial=0.0))
    return speech * min(1.0, 32000 / peak) if peak else speech
