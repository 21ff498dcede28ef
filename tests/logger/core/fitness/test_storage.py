"""Room for a drive; and the rate at which its sound takes it, measured anew on the sample drive."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
import soundfile

from logger.core.fitness.findings import State
from logger.core.fitness.storage import BESIDE_BYTES, FLAC_BYTES_A_HOUR, judge_disk
from logger.model import RATE_HZ

SOUND = Path(__file__).resolve().parents[4] / "samples" / "ostmere-loop" / "sound-1.ogg"


@pytest.mark.parametrize(
    ("free_bytes", "state"),
    [
        (0, State.FAILED),
        (471_999_999, State.FAILED),
        (472_000_000, State.WARNING),
        (791_199_999, State.WARNING),
        (791_200_000, State.OK),
        (10**13, State.OK),
    ],
)
def test_six_hours(free_bytes: int, state: State) -> None:
    """6 x 62 + 100 MB as a rule, 6 x 115.2 + 100 MB at most."""
    finding = judge_disk(free_bytes, 6.0)

    assert state is finding.state
    assert "6 h of sound take about 472 MB, 791 MB at most" in finding.what
    assert (state is State.OK) == (not finding.todo)


def test_the_rate_is_what_flac_takes() -> None:
    """Five minutes of the sample drive, coded as clips are, come to the rate within 5 %."""
    samples, rate_hz = soundfile.read(SOUND, frames=300 * RATE_HZ, dtype="int16")
    coded = io.BytesIO()
    soundfile.write(coded, samples, rate_hz, format="FLAC", subtype="PCM_16")
    a_hour = len(coded.getvalue()) / len(samples) * RATE_HZ * 3600

    assert pytest.approx(FLAC_BYTES_A_HOUR, rel=0.05) == a_hour
    assert BESIDE_BYTES > 0
