"""Speech from the synthesisers of the machine, as int16 mono sound at 16 kHz."""

from __future__ import annotations

import io
import subprocess
import tempfile
import wave
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import soxr
from numpy.typing import NDArray

RATE_HZ = 16_000
Sound = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Voice:
    """One way to speak: engine `espeak` or `flite`, its voice, tempo (1 = usual), pitch and vocal-tract warp."""

    engine: str
    name: str
    tempo: float = 1.0
    pitch: int = 50
    """espeak's scale, 0-99."""
    warp: float = 1.0
    """Played this much faster, pitch and formants with it: another speaker."""


TRAINING_VOICES = (
    *(Voice("flite", name) for name in ("slt", "awb", "rms", "kal16") for _ in range(3)),
    *(
        Voice("espeak", f"{accent}+{variant}")
        for accent in ("en-us", "en-gb", "en-gb-scotland", "en-gb-x-rp")
        for variant in ("m1", "m2", "m4", "m5", "m6", "f1", "f3", "f4")
    ),
)
"""Natural voices come thrice: they are few and nearest to people."""

HELD_OUT_VOICES = (
    Voice("espeak", "en-us+f2"),
    Voice("espeak", "en-us+m3"),
    Voice("espeak", "en-gb+m7"),
    Voice("espeak", "en-us-nyc+f5"),
)
"""No variant of these (f2, f5, m3, m7) is among the training voices."""


def _wav(data: bytes) -> tuple[NDArray[np.float32], int]:
    with wave.open(io.BytesIO(data)) as opened:
        rate = opened.getframerate()
        frames = opened.readframes(opened.getnframes())
    return np.frombuffer(frames, dtype="<i2").astype(np.float32), rate


def _as_int16(samples: NDArray[np.float32]) -> Sound:
    return np.asarray(np.clip(np.rint(samples), -32768, 32767), np.int16)


def _at_rate(samples: NDArray[np.float32], rate: float) -> Sound:
    at_rate = samples if rate == RATE_HZ else soxr.resample(samples, rate, RATE_HZ)
    return _as_int16(at_rate)


def speak(text: str, voice: Voice) -> Sound:
    """Return `text` spoken by `voice`.

    Raises:
        subprocess.CalledProcessError: the synthesiser failed.
        FileNotFoundError: the synthesiser is not installed.
    """
    return speak_timed(text, voice)[0]


def speak_timed(text: str, voice: Voice) -> tuple[Sound, list[tuple[str, float]]]:
    """Return the sound and, from flite alone, its phones with the second each one ends at."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "said.wav"
        if voice.engine == "espeak":
            speed = str(round(160 * voice.tempo))
            command = [
                "espeak-ng",
                "-v",
                voice.name,
                "-s",
                speed,
                "-p",
                str(voice.pitch),
                "-w",
                str(out),
                text,
            ]
        else:
            stretch = f"duration_stretch={1 / voice.tempo:.3f}"
            command = ["flite", "-voice", voice.name, "-psdur", "--setf", stretch, "-t", text, "-o", str(out)]
        talk = subprocess.run(command, check=True, capture_output=True, text=True).stdout
        samples, rate = _wav(out.read_bytes())
    phones = [item.rsplit(":", 1) for item in talk.split()] if voice.engine == "flite" else []
    ends = [(name, float(end) / voice.warp) for name, end in phones]
    return _at_rate(samples, rate * voice.warp), ends


@lru_cache(maxsize=8)
def _noise(slope: float) -> NDArray[np.float32]:
    """Return about half a minute of noise with mean square 1."""
    count = 2**19
    spectrum = np.fft.rfft(np.random.default_rng(3).standard_normal(count))
    freq_hz = np.fft.rfftfreq(count, 1 / RATE_HZ)
    noise = np.fft.irfft(spectrum / np.maximum(freq_hz, 100.0) ** slope, count)
    noise = noise / np.sqrt(np.mean(noise**2))
    return np.asarray(noise, np.float32)


def with_noise(samples: Sound, snr_db: float, rng: np.random.Generator, slope: float = 1.0) -> Sound:
    """Return the sound with noise at a broadband ratio; slope 1 falls 6 dB an octave above 100 Hz, 0 is white."""
    noise = np.roll(_noise(slope), rng.integers(2**19))[: len(samples)]
    speech = samples.astype(np.float32)
    gain = np.sqrt(np.mean(speech**2) / 10 ** (snr_db / 10))
    return _as_int16(speech + gain * noise)


def read_sound(path: Path) -> Sound:
    """Return any file that ffmpeg reads (G.722 too) as sound."""
    command = ["ffmpeg", "-v", "error", "-i", str(path), "-f", "s16le", "-ac", "1", "-ar", str(RATE_HZ), "-"]
    return np.frombuffer(subprocess.run(command, check=True, capture_output=True).stdout, dtype="<i2")
