"""The loudspeaker on a real sound server whose microphone hears it."""

from __future__ import annotations

import time

import numpy as np
import pytest
from sound_server import SoundServer

from logger.core.captured import joined, moment_mono_ns
from logger.core.sweep import find, rising_tone
from logger.errors import SoundError, SoundLostError
from logger.model import RATE_HZ
from logger.sound.microphone import Microphone
from logger.sound.speaker import Speaker


def test_what_is_played_is_heard_when_it_says(room: SoundServer) -> None:
    """The tone comes back through the microphone whole, at the moment the loudspeaker told, within a tenth of a second."""
    tone = rising_tone()
    with Speaker() as speaker, Microphone() as microphone:
        settled = time.monotonic() + 1.5
        while time.monotonic() < settled:
            microphone.read(0.5)
        asked = time.monotonic_ns()
        speaker.play(tone)
        told = speaker.wait()
        blocks = []
        while time.monotonic_ns() - asked < 2_000_000_000:
            block = microphone.read(0.5)
            if block is not None:
                blocks.append(block)
    sound = joined(blocks)
    found = find(tone, sound)
    heard = sound[found.first_sample : found.first_sample + len(tone)]
    heard_ns = moment_mono_ns(blocks, found.first_sample)

    assert found.is_there
    assert np.corrcoef(tone, heard)[0, 1] > 0.98  # beside noise
    assert asked <= told
    assert abs(heard_ns - told) < 100_000_000
    assert heard_ns - asked < 300_000_000
    assert microphone.lost_samples == 0


def test_a_new_sound_breaks_off_the_old_one(room: SoundServer) -> None:
    """Waiting is for the newest only."""
    with Speaker() as speaker:
        speaker.play(np.zeros(20 * RATE_HZ, np.int16))
        time.sleep(0.2)
        speaker.play(rising_tone())
        began = time.monotonic()
        speaker.wait()
        assert not speaker.is_lost

    assert time.monotonic() - began < 2.0


def test_a_killed_server_is_told(server: SoundServer) -> None:
    """The end of the server is an error within two seconds, and no loudspeaker is found while it is gone."""
    with Speaker() as speaker:
        server.kill()
        speaker.play(rising_tone())
        began = time.monotonic()
        with pytest.raises(SoundLostError, match="takes no sound"):
            speaker.wait()
        assert time.monotonic() - began < 2.5
        assert speaker.is_lost
    with pytest.raises(SoundError, match="no loudspeaker found"):
        Speaker()
