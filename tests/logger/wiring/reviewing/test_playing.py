"""A call is played through the loudspeaker of a real sound server, also slower; where there is none that is told."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from sound_server import Feed, SoundServer

from logger.core.captured import joined
from logger.core.sweep import find, rising_tone
from logger.errors import SoundError
from logger.sound.microphone import Microphone
from logger.wiring.reviewing.playing import SLOWER, Player


def test_it_is_heard(monkeypatch: pytest.MonkeyPatch) -> None:
    """By a microphone in the same room; slower takes a third longer."""
    tone = np.concatenate((rising_tone(), np.zeros(8_000, np.int16)))
    with SoundServer(room=True) as server, Feed(server, np.zeros(0, np.int16), room=True):
        for name, value in server.environment.items():
            monkeypatch.setenv(name, value)
        took = []
        with Player() as player, Microphone() as microphone:
            player.play(tone[:160])  # opens the loudspeaker
            settled = time.monotonic() + 1.5
            while time.monotonic() < settled:
                microphone.read(0.5)
            for slower in (False, True):
                began = time.monotonic()
                player.play(tone, slower=slower)
                took.append(time.monotonic() - began)
            blocks = []
            while (block := microphone.read(0.2)) is not None and len(blocks) < 100:
                blocks.append(block)

    assert find(rising_tone(), joined(blocks)).is_there
    assert took[1] - took[0] > 0.5 * (SLOWER - 1.0) * len(tone) / 16_000


def test_without_a_loudspeaker(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """An error to be told, each time it is asked to play."""
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path}/none")
    monkeypatch.setenv("HOME", str(tmp_path))
    with Player() as player:
        for _ in range(2):
            with pytest.raises(SoundError):
                player.play(rising_tone())
