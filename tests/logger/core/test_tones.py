"""The sounds of the read-back: short, level, without clicks, and unlike each other."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from logger.core.levels import peak_dbfs, rms_dbfs
from logger.core.tones import FADE_S, LEVEL_DBFS, advice_tone, tone_of
from logger.core.verdicts import Verdict
from logger.model import RATE_HZ


@pytest.mark.parametrize("verdict", Verdict)
def test_short_and_calm(verdict: Verdict) -> None:
    """At most 0.4 s, as loud as it says where it is loudest, and far from full scale."""
    tone = tone_of(verdict)
    loudest = max(rms_dbfs(tone[at : at + 800]) for at in range(0, len(tone) - 800, 80))

    assert np.int16 == tone.dtype
    assert 0.1 <= len(tone) / RATE_HZ <= 0.4
    assert pytest.approx(LEVEL_DBFS, abs=0.7) == loudest
    assert peak_dbfs(tone) < -11.0


@pytest.mark.parametrize("verdict", Verdict)
def test_no_clicks(verdict: Verdict) -> None:
    """It begins and ends in silence, comes and goes over 20 ms, and no step is larger than its highest pitch makes."""
    tone = tone_of(verdict).astype(np.float64)
    edge = round(FADE_S * RATE_HZ)
    peak = np.abs(tone).max()

    assert max(abs(tone[0]), abs(tone[-1])) <= 1
    for at_edge in (tone[:edge], tone[::-1][:edge]):
        assert np.abs(at_edge[: edge // 4]).max() < 0.2 * peak
        assert np.abs(at_edge).max() > 0.8 * peak
    assert np.abs(np.diff(tone)).max() <= 2 * np.pi * 660 / RATE_HZ * peak * 1.05


def test_told_apart_by_rhythm_and_pitch() -> None:
    """One note, two notes, one long low one: in count of notes, length of the longest, and pitch no two are alike."""
    seen = []
    for verdict in Verdict:
        tone = tone_of(verdict).astype(np.float64)
        frames = np.sqrt(np.square(tone[: len(tone) // 80 * 80].reshape(-1, 80)).mean(axis=1))
        sounding = [len(list(run)) for loud, run in itertools.groupby(frames > 300) if loud]
        pitch_hz = np.abs(np.fft.rfft(tone, RATE_HZ)).argmax()
        seen.append((len(sounding), round(max(sounding) / 25), int(pitch_hz) // 100))

    assert [1, 2, 1] == [notes for notes, _, _ in seen]
    assert seen[2][1] > seen[0][1]
    assert seen[2][2] < seen[0][2]


def test_advice_has_three_notes() -> None:
    """Which no answer to a call has; as loud as these, 0.57 s long."""
    tone = advice_tone().astype(np.float64)
    frames = np.sqrt(np.square(tone[: len(tone) // 80 * 80].reshape(-1, 80)).mean(axis=1))
    loud_runs = [loud for loud, _ in itertools.groupby(frames > 300) if loud]

    assert 3 == len(loud_runs)
    assert pytest.approx(0.57) == len(tone) / RATE_HZ
    assert peak_dbfs(advice_tone()) < -11.0
