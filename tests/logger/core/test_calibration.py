"""Which recogniser is believed how far; the figures themselves are measured by `make bench-reconcile --group tuning`."""

from __future__ import annotations

import pytest

from logger.core.calibration import Calibration, calibration_of


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("vosk call-model-2 with pocketsphinx 5.1.1 en-us cabin-2", Calibration(1.5, 0.002)),
        ("vosk call-model-2", Calibration(1.4, 0.012)),
        ("vosk call-model-1 with pocketsphinx 5.1.1 en-us cabin-2", Calibration(1.5, 0.002)),
        ("vosk call-model-1", Calibration(1.4, 0.012)),
        ("pocketsphinx 5.1.1 en-us cabin-2", Calibration(0.65, 0.02)),
        ("typed", Calibration(1.0, 0.001)),
    ],
)
def test_a_recogniser_that_was_measured(name: str, expected: Calibration) -> None:
    """By the name it is stored under, whatever its version."""
    assert expected == calibration_of(name)


def test_a_recogniser_nobody_measured_is_believed_less() -> None:
    """Somebody's own model: its order of answers counts less, and the truth is more often in none of them."""
    unknown = calibration_of("vosk my-model")

    assert unknown.temperature > 1.0
    assert unknown.unlisted >= 0.01
