"""What is said of sound: silence, noise, faintness, loss, clipping, and a read-back."""

from __future__ import annotations

import numpy as np
import pytest

from logger.core.fitness.findings import State
from logger.core.fitness.sound import judge_clipping, judge_level, judge_readback, readback_off
from logger.core.sweep import Found
from logger.model import RATE_HZ, Samples


def noise(dbfs: float, seconds: float = 5.0) -> Samples:
    """White noise of a level."""
    rng = np.random.default_rng(3)
    loud = rng.normal(0, 32768 * 10 ** (dbfs / 20), round(seconds * RATE_HZ))
    return np.clip(np.rint(loud), -32768, 32767).astype(np.int16)


def spoken(dbfs: float, noise_dbfs: float) -> Samples:
    """Noise with a second of something louder."""
    sound = noise(noise_dbfs)
    sound[RATE_HZ : 2 * RATE_HZ] = noise(dbfs, 1.0)
    return sound


@pytest.mark.parametrize(
    ("samples", "lost", "state", "says"),
    [
        (spoken(-25, -55), 0, State.OK, "noise -55 dBFS, loudest -25 dBFS"),
        (noise(-50), 0, State.OK, "(nobody spoke)"),
        (np.zeros(5 * RATE_HZ, np.int16), 0, State.FAILED, "nothing but silence"),
        (np.full(5 * RATE_HZ, 3, np.int16), 0, State.FAILED, "nothing but silence"),
        (np.empty(0, np.int16), 0, State.FAILED, "nothing but silence"),
        (noise(-70), 0, State.WARNING, "very faint"),
        (noise(-20), 0, State.WARNING, "so much noise hides speech"),
        (spoken(-25, -55), 4000, State.WARNING, "but 0.25 s of sound were lost"),
    ],
)
def test_level(samples: Samples, lost: int, state: State, says: str) -> None:
    """Each state, in words, with what to do unless all is well."""
    finding = judge_level(samples, lost)

    assert state is finding.state
    assert says in finding.what
    assert (state is State.OK) == (not finding.todo)


@pytest.mark.parametrize(
    ("at_full_scale", "state"),
    [(0, State.OK), (15, State.OK), (16, State.WARNING), (799, State.WARNING), (800, State.FAILED)],
)
def test_clipping(at_full_scale: int, state: State) -> None:
    """A few touches are fine, one in a hundred is not: of 80 000 samples, 16 and 800."""
    samples = np.zeros(80_000, np.int16)
    samples[:at_full_scale] = 32767

    assert state is judge_clipping(samples).state
    assert judge_clipping(samples[:0]).state is State.OK


def test_readback() -> None:
    """Heard, not heard, nobody there to hear it, and off."""
    heard = judge_readback("tone", Found(100, 60.0), 0.2134)
    unheard = judge_readback("voice", Found(100, 6.0), None)

    assert (State.OK, "the microphone heard the tone 0.21 s after it was asked for") == (
        heard.state,
        heard.what,
    )
    assert heard.figures["delay_s"] == 0.213
    assert (State.WARNING, False, None) == (
        unheard.state,
        unheard.figures["heard"],
        unheard.figures["delay_s"],
    )
    assert "headphones" in unheard.todo
    alone = judge_readback("tone", None, None)
    assert (State.WARNING, None) == (alone.state, alone.figures["heard"])
    assert (State.OK, False) == (readback_off().state, readback_off().figures["played"])
