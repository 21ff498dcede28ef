"""How far each recogniser's scores can be believed. Pure.

Scores are natural logs, but no recogniser's are honest: divided by its `temperature` they tell the truth best (least log
loss on the TUNING drives of `make bench-reconcile`, which prints it), and the truth is in none of its answers with the
probability `unlisted`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Calibration:
    """What makes a recogniser's scores into probabilities."""

    temperature: float
    unlisted: float


POCKETSPHINX_WEIGHT = 0.35
"""What PocketSphinx's scores count beside the call model's until a drive has taught better (`trusting`). Measured on voices
kept apart, where half the TUNING voices would have it count as much."""

_BY_NAME: tuple[tuple[str, Calibration], ...] = (
    ("typed", Calibration(1.0, 0.001)),
    ("vosk call-model-2 with pocketsphinx", Calibration(1.5, 0.002)),
    ("vosk call-model-2", Calibration(1.4, 0.012)),
    # Heard by an older odovox; measured on drives, and kept for the newer one, whose scores on TUNING calls in much noise are a
    # little more honest (best 1.26 where the older one's is 1.38).
    ("vosk call-model-1 with pocketsphinx", Calibration(1.5, 0.002)),
    ("vosk call-model-1", Calibration(1.4, 0.012)),
    ("pocketsphinx", Calibration(0.65, 0.02)),
)
_ANY_OTHER = Calibration(1.5, 0.02)
"""Recognisers nobody has measured are believed less."""


def calibration_of(recogniser: str) -> Calibration:
    """Return the calibration of a recogniser by the name it is stored under."""
    return next((each for name, each in _BY_NAME if recogniser.startswith(name)), _ANY_OTHER)
