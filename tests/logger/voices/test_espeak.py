"""The real espeak-ng: what it says is understood, and its absence is one line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from grammar import Language, Phrasebook
from logger.errors import SoundError
from logger.model import RATE_HZ
from logger.voices.espeak import has_voice, speak
from logger.wiring.choosing import choose


def test_it_says_the_words() -> None:
    """A call it speaks is heard by the recognisers as that call."""
    sound = speak("checkpoint sixty three percent")
    padded = np.concatenate((np.zeros(RATE_HZ // 2, np.int16), sound, np.zeros(RATE_HZ // 2, np.int16)))
    answers = choose("auto", None, Language(Phrasebook())).recogniser.recognise(padded)

    assert has_voice()
    assert RATE_HZ < len(sound) < 4 * RATE_HZ
    assert "checkpoint sixty three percent" == answers[0].text


def test_it_is_not_installed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Without the command there is no voice, and the message says what to install."""
    monkeypatch.setenv("PATH", str(tmp_path))

    assert not has_voice()
    with pytest.raises(SoundError, match="sudo apt-get install espeak-ng"):
        speak("sixty three percent")


@pytest.mark.parametrize("script", ["exit 1", "echo no sound", "exec head -c 44 /dev/zero", "true"])
def test_it_fails(script: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A command that fails or writes something else is one line too."""
    command = tmp_path / "espeak-ng"
    command.write_text(f"#!/bin/sh\n{script}\n", encoding="ascii")
    command.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:/usr/bin:/bin")

    with pytest.raises(SoundError, match=r"espeak-ng .*--readback tone"):
        speak("sixty three percent")
