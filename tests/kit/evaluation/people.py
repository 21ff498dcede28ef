"""Calls joined from digits that people recorded one by one (the Free Spoken Digit Dataset, CC BY-SA 4.0).

A call is "zero", which stands for "odometer" on a sheet of its own, and the digits of a reading of two to five. Besides the digits
the sheet allows every other way to say such a number, so nothing helps to hear them.
"""

from __future__ import annotations

import random
import wave
from functools import cache
from pathlib import Path

import numpy as np
from speechkit import RATE_HZ, Samples
from speechkit.levels import to_samples, trimmed_to_level

from grammar import Language, Phrasebook
from grammar.quantities import MILE
from grammar.readings import Quantity

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def digit_language() -> Language:
    """Return the language of these calls."""
    odometer = Quantity("odometer", (MILE,), highest=999_999, keywords=("zero",), bare=False)
    return Language(Phrasebook(quantities=(odometer,), lead="", notes=()))


def speakers(folder: Path) -> tuple[str, ...]:
    """Return whose digits lie in a folder of files named DIGIT_SPEAKER_TAKE.wav, sorted."""
    return tuple(sorted({path.stem.split("_")[1] for path in folder.glob("*_*_*.wav")}))


@cache
def takes(folder: Path, speaker: str, digit: int) -> tuple[Samples, ...]:
    """Return one speaker's recordings of a digit at 16 kHz, trimmed and at one level."""
    import soxr

    found = []
    for path in sorted(folder.glob(f"{digit}_{speaker}_*.wav")):
        with wave.open(str(path)) as opened:
            rate_hz = opened.getframerate()
            sound = np.frombuffer(opened.readframes(opened.getnframes()), "<i2").astype(np.float64)
        found.append(to_samples(trimmed_to_level(soxr.resample(sound, rate_hz, RATE_HZ))))
    return tuple(found)


def digit_call(speaker: str, seed: int) -> tuple[str, str]:
    """Return the words of a call and the reading it means."""
    rng = random.Random(f"evaluation digits {speaker} {seed}")
    length = rng.choice((2, 3, 4, 4, 5))
    digits = [rng.randint(1, 9), *(rng.randint(0, 9) for _ in range(length - 1))]
    return " ".join(["zero", *(DIGITS[digit] for digit in digits)]), "".join(map(str, digits))


def joined(folder: Path, speaker: str, words: str, seed: int) -> Samples:
    """Return recorded digits said one after the other, up to 0.12 s apart, a little longer after the first."""
    rng = random.Random(f"evaluation digits joined {speaker} {seed}")
    pieces: list[Samples] = []
    for position, word in enumerate(words.split()):
        gap_s = 0.0 if position == 0 else rng.uniform(0.0, 0.12) + 0.1 * (position == 1)
        pieces += [
            np.zeros(round(gap_s * RATE_HZ), np.int16),
            rng.choice(takes(folder, speaker, DIGITS.index(word))),
        ]
    return np.concatenate(pieces)
