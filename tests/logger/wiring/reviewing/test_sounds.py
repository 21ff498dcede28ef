"""The sound of a call, with two seconds around it where they were kept, and of any moment."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from reviewed_drives import doubtful_drive, store_called, tone

from logger.errors import SoundError
from logger.model import RATE_HZ
from logger.wiring.reviewing.drive import Heard, ReviewedDrive
from logger.wiring.reviewing.sounds import call_sound, sound_at

NANO = 1_000_000_000


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive whose whole sound was kept: a hum, and a tone of 6 s at each call."""
    folder = tmp_path_factory.mktemp("drives") / "whole"
    return store_called(folder, doubtful_drive(), whole_sound=True)


@pytest.fixture(scope="module")
def calls_only(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive of which only the calls were kept."""
    return store_called(tmp_path_factory.mktemp("drives") / "calls", doubtful_drive())


def heard_of(folder: Path) -> Heard:
    """What was taken in of a drive."""
    return ReviewedDrive(folder, "Ada").look().heard


def test_a_call(calls_only: Path) -> None:
    """Its clip, whether more was asked for or not; the second of them has 307 Hz."""
    utterance = heard_of(calls_only).utterances[1]
    plain, more = (call_sound(calls_only, utterance, around=around) for around in (False, True))

    assert_array_equal(tone(6.0, 307.0), plain.samples)
    assert_array_equal(plain.samples, more.samples)
    assert (100 * NANO, 6.0) == (plain.start_ns, plain.seconds)


def test_with_what_was_around_it(whole: Path) -> None:
    """Two seconds before and two after; at the drive's beginning only what there is."""
    first, second = heard_of(whole).utterances[:2]
    around = call_sound(whole, second, around=True)

    assert (98 * NANO, 10.0) == (around.start_ns, around.seconds)
    middle = around.samples[2 * RATE_HZ : 8 * RATE_HZ].astype(float) - tone(6.0, 307.0)
    assert np.abs(middle).max() <= 300
    assert (8 * NANO, 10.0) == (call_sound(whole, first, around=True).start_ns, around.seconds)


def test_any_moment(whole: Path, calls_only: Path) -> None:
    """From the whole sound, else from the call that was then, else none."""
    hum = sound_at(whole, heard_of(whole), 50 * NANO, 3.0)
    assert (50 * NANO, 3.0) == (hum.start_ns, hum.seconds)
    assert 0 < np.abs(hum.samples).max() <= 300
    assert 60.0 == sound_at(whole, heard_of(whole), 50 * NANO, 1e9).seconds

    within = sound_at(calls_only, heard_of(calls_only), 102 * NANO, 10.0)
    assert (102 * NANO, 4.0) == (within.start_ns, within.seconds)
    with pytest.raises(SoundError, match="no sound was kept of this moment"):
        sound_at(calls_only, heard_of(calls_only), 50 * NANO, 3.0)
    with pytest.raises(SoundError, match="no sound was kept of this moment"):
        sound_at(whole, heard_of(whole), 10**9 * NANO, 3.0)


def test_a_clip_that_is_gone(calls_only: Path) -> None:
    """It is told which."""
    utterance = heard_of(calls_only).utterances[-1]
    (calls_only / utterance.clip).unlink()

    with pytest.raises(SoundError, match=r"007\.flac: cannot be read"):
        call_sound(calls_only, utterance)
