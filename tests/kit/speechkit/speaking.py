"""Texts spoken by the machine's synthesisers, and kept on disk."""

from __future__ import annotations

import functools
import shutil
import subprocess
import tempfile
import wave
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from importlib import metadata, util
from pathlib import Path

import numpy as np

from speechkit import RATE_HZ, Samples, neural
from speechkit.cache import kept
from speechkit.levels import Sound, to_samples, trimmed_to_level
from speechkit.voices import Engine, Voice

_PROGRAM = {Engine.ESPEAK: "espeak-ng", Engine.FLITE: "flite", Engine.FESTIVAL: "text2wave"}
_MODULES = {Engine.PICO: ("ttspico",), Engine.KOKORO: (*neural.PARTS, "hibari"), Engine.HIBARI: ("hibari",)}
_MADE_BY = 1
"""Raised when the way from text to samples changes, so that older sound in the cache is not used."""


class VoiceMissingError(Exception):
    """A synthesiser or a voice of it is not installed; the message names the package."""


def say(voice: Voice, text: str, rate: float = 1.0, *, cached: bool = True) -> Samples:
    """Return `text` spoken by `voice`: int16 mono at 16 kHz, without silence around it, at a fixed level.

    Sample 0 is where the first word becomes audible (see `levels.extent`). The active level is -26 dB of full
    scale. Commas in the text become pauses. `rate` 1.25 speaks a quarter faster.

    Raises:
        VoiceMissingError: the synthesiser or the voice is not installed.
        ValueError: the text gave no sound.
    """
    if not cached:
        return _synthesise(voice, text, rate)
    key = (_MADE_BY, _version(voice.engine), voice, text, round(rate, 3))
    return kept(key, lambda: _synthesise(voice, text, rate))


def say_all(wanted: Iterable[tuple[Voice, str]], jobs: int = 2) -> Sequence[Samples]:
    """Return what `say` gives for each (voice, text), made by `jobs` synthesisers at a time."""
    with ThreadPoolExecutor(jobs) as pool:
        return list(pool.map(lambda pair: say(*pair), wanted))


def _synthesise(voice: Voice, text: str, rate: float) -> Samples:
    import soxr

    _check_installed(voice.engine, voice.package)
    sound, rate_hz = (_by_library if voice.engine in _MODULES else _by_program)(voice, text, rate)
    at_rate = sound if rate_hz == RATE_HZ else soxr.resample(sound, rate_hz, RATE_HZ, quality="HQ")
    speech = to_samples(trimmed_to_level(at_rate))
    if not len(speech):
        raise ValueError(f"{voice.name} gave no sound for {text!r}")
    return speech


def _by_library(voice: Voice, text: str, rate: float) -> tuple[Sound, int]:
    if voice.engine is Engine.HIBARI:
        return neural.hibari(text, rate)
    if voice.engine is Engine.KOKORO:
        try:
            return neural.kokoro(voice.engine_voice, text, rate)
        except neural.StylesMissingError as error:
            raise VoiceMissingError(str(error)) from error
    return _pico(voice, text, rate)


def _pico(voice: Voice, text: str, rate: float) -> tuple[Sound, int]:
    import ttspico

    engine = ttspico.TtsEngine(voice.engine_voice)
    engine.rate = round(100 * rate)
    return np.frombuffer(engine.speak(text), dtype="<i2").astype(np.float64), 16_000


def _by_program(voice: Voice, text: str, rate: float) -> tuple[Sound, int]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        command, typed = _command(voice, text, rate, path)
        done = subprocess.run(command, input=typed, capture_output=True, text=True, check=False)
        if done.returncode != 0 or not path.exists():
            raise VoiceMissingError(
                f"{voice.name} did not speak ({done.stderr.strip()[:200]}): is Debian's {voice.package} installed?"
            )
        return _read_wav(path)


def _command(voice: Voice, text: str, rate: float, path: Path) -> tuple[list[str], str]:
    """Return the command line that speaks into `path`, and what it is given to read."""
    program, out = _PROGRAM[voice.engine], str(path)
    match voice.engine:
        case Engine.ESPEAK:
            speed = str(round(voice.words_per_minute * rate))
            options = ["-v", voice.engine_voice, "-p", str(voice.pitch), "-s", speed]
            return [program, *options, "-w", out, "--stdin"], text
        case Engine.FLITE:
            stretch = f"duration_stretch={1 / rate:.3f}"
            return [program, "-voice", voice.engine_voice, "--setf", stretch, "-t", text, "-o", out], ""
        case Engine.FESTIVAL:
            # Voices built on HTS take their speed from the engine's own option, the older ones from festival.
            pace = (
                f'(set! hts_engine_params (append hts_engine_params (list (list "-r" {rate:.3f}))))'
                if voice.engine_voice.endswith("_hts")
                else f"(Parameter.set 'Duration_Stretch {1 / rate:.3f})"
            )
            return [program, "-eval", f"(voice_{voice.engine_voice})", "-eval", pace, "-o", out], text


def _check_installed(engine: Engine, package: str) -> None:
    if engine in _MODULES:
        if not all(util.find_spec(module) for module in _MODULES[engine]):
            raise VoiceMissingError(f"{engine} is not installed: install PyPI's {package}")
    elif shutil.which(_PROGRAM[engine]) is None:
        raise VoiceMissingError(f"{_PROGRAM[engine]} is not installed: install Debian's {package}")


@functools.cache
def _version(engine: Engine) -> str:
    """Return the synthesiser's version line, so that a newer one makes its sound anew."""
    _check_installed(engine, engine)
    if engine in _MODULES:
        return metadata.version(neural.PARTS[0] if engine is Engine.KOKORO else engine)
    program = {**_PROGRAM, Engine.FESTIVAL: "festival"}[engine]
    done = subprocess.run([program, "--version"], capture_output=True, text=True, check=False)
    return (done.stdout or done.stderr).strip()


def _read_wav(path: Path) -> tuple[Sound, int]:
    with wave.open(str(path)) as opened:
        rate_hz = opened.getframerate()
        frames = opened.readframes(opened.getnframes())
    return np.frombuffer(frames, dtype="<i2").astype(np.float64), rate_hz
