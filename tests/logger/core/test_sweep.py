"""The rising tone, and whether a known sound is found where it is and nowhere else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from logger.core.sweep import find, rising_tone
from logger.model import RATE_HZ, Samples

SOUND = Path(__file__).resolve().parents[3] / "samples" / "ostmere-loop" / "sound-2.ogg"


@pytest.fixture(scope="module")
def drive() -> Samples:
    """Five minutes of cabin noise, calls and talk."""
    samples, rate_hz = soundfile.read(SOUND, frames=300 * RATE_HZ, dtype="int16")
    assert RATE_HZ == rate_hz
    return np.asarray(samples)


def mixed(samples: Samples, tone: Samples, at: int, gain_db: float) -> Samples:
    """A sound with a tone in it."""
    sound = samples.astype(np.float64)
    sound[at : at + len(tone)] += tone * 10 ** (gain_db / 20)
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)


def test_the_tone_rises_and_starts_softly() -> None:
    """500 Hz at first, 3000 Hz at last, counted by zero crossings; no click at either end; not at full scale."""
    tone = rising_tone(0.6)
    head, tail = tone[: RATE_HZ // 10].astype(int), tone[-RATE_HZ // 10 :].astype(int)

    assert len(tone) == 9600
    assert np.abs(tone[[0, -1]]).max() < 50
    assert 10_000 < np.abs(tone).max() < 12_000
    # The mean pitch of the first and the last tenth of a second: 500 + 2500/6/2 and 3000 - 2500/6/2.
    for part, pitch_hz in ((head, 708), (tail, 2792)):
        assert pytest.approx(pitch_hz, abs=25) == np.count_nonzero(np.diff(np.sign(part))) / 2 / 0.1


@pytest.mark.parametrize("gain_db", [0, -20, -30])
def test_a_tone_in_the_cabin_is_found(drive: Samples, gain_db: float) -> None:
    """Loud or faint, it is found to the sample, also in speech."""
    tone = rising_tone()
    for begin in range(0, 30 * 3 * RATE_HZ, 3 * RATE_HZ):
        found = find(tone, mixed(drive[begin : begin + 3 * RATE_HZ], tone, 17_000, gain_db))

        assert found.is_there
        assert found.first_sample == 17_000


def test_the_cabin_alone_has_no_tone(drive: Samples) -> None:
    """Five minutes of noise, calls and talk, and white noise, are never taken for the tone."""
    tone = rising_tone()
    noise = np.random.default_rng(2).normal(0, 500, 3 * RATE_HZ).astype(np.int16)
    strengths = [
        find(tone, drive[begin : begin + 3 * RATE_HZ]).strength for begin in range(0, len(drive), RATE_HZ)
    ]

    assert not find(tone, noise).is_there
    assert max(strengths) < 12  # the limit is 15


def test_a_bang_is_not_the_tone(drive: Samples) -> None:
    """Something loud and short beside a faint tone does not draw the finding to itself."""
    tone = rising_tone()
    sound = mixed(drive[: 3 * RATE_HZ], tone, 30_000, -30)
    sound[5000:5080] = 32767

    assert find(tone, sound).first_sample == 30_000


def test_nothing_to_look_in() -> None:
    """Silence, and a capture shorter than the sound, hold nothing."""
    tone = rising_tone()

    assert not find(tone, np.zeros(3 * RATE_HZ, np.int16)).is_there
    assert not find(tone, tone[:100]).is_there
    assert not find(tone, np.empty(0, np.int16)).is_there
