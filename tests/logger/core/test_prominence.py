"""How far a voice stands out: the same from sound as it comes, nearly, and from whole steps."""

from __future__ import annotations

import numpy as np
from voice_sounds import road, with_voice

from logger.core.prominence import HOP, LAG_FRAMES, REACH, STEP, WINDOW, Meter
from logger.model import RATE_HZ


def test_what_is_said_ahead_is_nearly_what_is_said_in_the_end() -> None:
    """Of each step's first frames, from no more sound than theirs; and to ask ahead changes nothing."""
    sound = with_voice(road(20), (8.0, 11.0))
    asked, alone = Meter(), Meter()
    ahead, final = [], []
    for begin in range(0, len(sound) - REACH, STEP):
        if begin >= 6 * RATE_HZ:
            frames = begin // STEP % 9 + 1
            ahead.append(asked.prominence_ahead(sound[begin : begin + (frames - 1) * HOP + WINDOW]))
            assert frames == len(ahead[-1])
        piece = sound[begin : begin + REACH]
        told = asked.prominence(asked.levels(piece))
        assert alone.prominence(alone.levels(piece)) == told
        if begin >= 6 * RATE_HZ:
            final.append(told)
    off_db = [
        abs(a - b) for one, other in zip(ahead, final, strict=True) for a, b in zip(one, other, strict=False)
    ]

    assert np.quantile(off_db, 0.95) < 0.3
    assert max(map(max, final)) > 5.0
    assert [] == asked.prominence_ahead(sound[: WINDOW - 1])


def test_a_voice_stands_out_and_the_road_does_not() -> None:
    """Above rest while somebody speaks, told as many frames late as both averages are behind; below 1 dB else."""
    sound = with_voice(road(20), (8.0, 11.0))
    meter = Meter()
    told = [
        each
        for begin in range(0, len(sound) - REACH, STEP)
        for each in meter.prominence(meter.levels(sound[begin : begin + REACH]))
    ][LAG_FRAMES:]

    assert min(told[830:880]) > 1.6
    assert max(told[500:780] + told[1130:1900]) < 1.0


def test_what_is_blank_has_none_and_tells_nothing_of_the_noise() -> None:
    """A voice in blank steps does not stand out, not even in the very first ones; ten seconds of them leave rest as it was."""
    sound = with_voice(np.random.default_rng(3).normal(0, 60, 24 * RATE_HZ), (6.0, 15.0))
    blank = np.ones(STEP // HOP, np.bool_)
    meter, other = Meter(), Meter()
    after: list[list[float]] = []
    for begin in range(0, len(sound) - REACH, STEP):
        piece = sound[begin : begin + REACH]
        covered = begin < STEP or 5 * RATE_HZ <= begin < 15.5 * RATE_HZ
        told = meter.prominence(meter.levels(piece), blank if covered else None)
        levels = other.levels(piece)
        if 5.5 * RATE_HZ <= begin < 15.5 * RATE_HZ:
            assert max(told) < 0.0
        elif not 5 * RATE_HZ <= begin < 16 * RATE_HZ:
            without = other.prominence(levels)
            after += [[a, b] for a, b in zip(told, without, strict=True) if begin > 17 * RATE_HZ]

    off_db = [abs(a - b) for a, b in after]
    assert np.mean(off_db) < 0.05
