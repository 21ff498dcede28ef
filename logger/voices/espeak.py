"""The synthesiser espeak-ng, where it is installed: words become sound."""

from __future__ import annotations

import io
import shutil
import subprocess
import wave

import numpy as np

from logger.errors import SoundError
from logger.model import RATE_HZ, Samples

COMMAND = "espeak-ng"
_LIMIT_S = 5.0
_WORDS_A_MINUTE = 170
_ADVICE = "install it (sudo apt-get install espeak-ng), or use --readback tone"


def has_voice() -> bool:
    """Whether the command is there."""
    return shutil.which(COMMAND) is not None


def speak(text: str) -> Samples:
    """Return the sound of some words.

    Raises:
        SoundError: the synthesiser is not installed, or fails.
    """
    path = shutil.which(COMMAND)
    if path is None:
        raise SoundError(f"there is no offline voice: {COMMAND} is not installed; {_ADVICE}")
    try:
        done = subprocess.run(  # noqa: S603  (a command of this name on PATH is what the person installed)
            [path, "-v", "en", "-s", str(_WORDS_A_MINUTE), "--stdin", "--stdout"],
            input=text.encode(),
            capture_output=True,
            check=True,
            timeout=_LIMIT_S,
        )
        with wave.open(io.BytesIO(done.stdout)) as sound:
            rate_hz, width, channels = sound.getframerate(), sound.getsampwidth(), sound.getnchannels()
            # The length in the header of a stream is made up, so all there is is read.
            raw = sound.readframes(1 << 30)
    except (OSError, subprocess.SubprocessError, wave.Error, EOFError) as error:
        raise SoundError(f"{COMMAND} cannot speak ({type(error).__name__}); {_ADVICE}") from error
    if width != 2 or channels != 1 or not raw:
        raise SoundError(f"{COMMAND} gave no sound; {_ADVICE}")
    import soxr  # heavy

    spoken: Samples = soxr.resample(np.frombuffer(raw, "<i2"), rate_hz, RATE_HZ)
    return spoken
