"""The sounds of the read-back: short, calm, and told apart by rhythm as well as by pitch. Pure.

Road noise hides pitch before it hides rhythm, so the three answers differ in how many notes they have and how long these
are: *taken* is one note, *doubtful* two with a rest between, *not understood* one long note that sinks. Advice that nobody
asked for is three notes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logger.core.verdicts import Verdict
from logger.model import RATE_HZ, Samples

LEVEL_DBFS = -15.0
"""Of a note's root mean square where it is loudest: heard over a car's noise, no alarm."""
FADE_S = 0.02
"""A note comes and goes over so long; a sudden edge is heard as a click, and startles."""
_MIDDLE_HZ = 660.0
"""Where small loudspeakers play well and cabin noise has little left."""
_LOW_HZ = 440.0
_SHORT_S, _REST_S, _LONG_S = 0.13, 0.09, 0.36


def tone_of(verdict: Verdict) -> Samples:
    """Return the sound that stands for a verdict, at most 0.4 s long."""
    match verdict:
        case Verdict.TAKEN:
            notes = [_note(_MIDDLE_HZ, _MIDDLE_HZ, _SHORT_S)]
        case Verdict.DOUBTFUL:
            rest = np.zeros(round(_REST_S * RATE_HZ))
            notes = [_note(_MIDDLE_HZ, _MIDDLE_HZ, _SHORT_S), rest, _note(_MIDDLE_HZ, _MIDDLE_HZ, _SHORT_S)]
        case Verdict.NOT_UNDERSTOOD:
            notes = [_note(_LOW_HZ, _LOW_HZ * 0.75, _LONG_S)]
    tone: Samples = np.rint(np.concatenate(notes)).astype(np.int16)
    return tone


def advice_tone() -> Samples:
    """Return the sound of advice that nobody asked for, where no voice can speak it: three notes that climb, 0.57 s."""
    rest = np.zeros(round(_REST_S * RATE_HZ))
    climb = [_note(pitch_hz, pitch_hz, _SHORT_S) for pitch_hz in (_LOW_HZ, 550.0, _MIDDLE_HZ)]
    tone: Samples = np.rint(np.concatenate([climb[0], rest, climb[1], rest, climb[2]])).astype(np.int16)
    return tone


def _note(first_hz: float, last_hz: float, length_s: float) -> NDArray[np.float64]:
    """Return a sine whose pitch goes evenly from one to the other, with raised-cosine edges."""
    seconds = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    phase = 2 * np.pi * (first_hz * seconds + (last_hz - first_hz) / (2 * length_s) * seconds**2)
    edge = np.clip(np.minimum(seconds, seconds[::-1]) / FADE_S, 0.0, 1.0)
    shape = 0.5 - 0.5 * np.cos(np.pi * edge)
    peak = 32768.0 * np.sqrt(2.0) * 10.0 ** (LEVEL_DBFS / 20.0)
    note: NDArray[np.float64] = peak * shape * np.sin(phase)
    return note
