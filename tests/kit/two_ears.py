"""A made-up drive that two recognisers heard, one of them better than the other: lists of answers, no sound."""

from __future__ import annotations

import random
from dataclasses import replace

from called_drives import SPEED_MPS, CalledDrive, answers, in_words

from logger.core.calibration import POCKETSPHINX_WEIGHT
from logger.core.fusing import Ear, fused
from logger.model import Recognition

BOTH = "vosk call-model-2 with pocketsphinx"


def heard(first: tuple[str, ...], second: tuple[str, ...], apart: float = 3.0) -> Recognition:
    """What both say of one stretch, best first, each answer so much worse than the one before."""
    ears = (
        Ear(answers(*lines, scores=[-apart * rank for rank in range(len(lines))]), weight, 8.0)
        for lines, weight in ((first, 1.0), (second, POCKETSPHINX_WEIGHT))
    )
    return Recognition(1, BOTH, fused(tuple(ears)))


def trip_km(number: int) -> str:
    """What the trip meter says at a call, as GPS does."""
    return f"{number * 5 + 12}.{number % 10}"


def drive_heard(better: int, calls: int = 40, seed: int = 1) -> CalledDrive:
    """A drive whose trips one of the two, by its index, mostly hears right and the other mostly wrong."""
    drive, rng = CalledDrive(), random.Random(seed)
    for number in range(calls):
        right = f"checkpoint {in_words(trip_km(number))} kilometers"
        wrong = (
            f"checkpoint {in_words(f'{number * 5 + 12 + rng.randint(1, 4)}.{(number + 3) % 10}')} kilometers"
        )
        good = (right, wrong) if rng.random() < 0.9 else (wrong, right)
        bad = (wrong, right) if rng.random() < 0.7 else (right, wrong)
        both = (good, bad) if better == 0 else (bad, good)
        drive.call(float(trip_km(number)) * 1000.0 / SPEED_MPS, right)
        drive.recognitions[-1] = replace(heard(*both, apart=2.0), utterance_id=number + 1)
    return drive
