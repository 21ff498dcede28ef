"""Sound kept on disk under a key of everything it was made from, so that a text is synthesised once."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from speechkit import RATE_HZ, Samples

_REPOSITORY = Path(__file__).resolve().parents[3]


def folder() -> Path:
    """Return where sound is kept: ODOVOX_SPEECH_CACHE, or `.cache/speech` in the repository."""
    named = os.environ.get("ODOVOX_SPEECH_CACHE")
    return Path(named) if named else _REPOSITORY / ".cache" / "speech"


def kept(key: tuple[object, ...], make: Callable[[], Samples]) -> Samples:
    """Return the sound kept under `key`, made by `make` the first time.

    The key must name everything the sound depends on. FLAC is lossless, so what comes from the disk is what
    `make` gave. A file appears whole or not at all, so several processes may share the folder.
    """
    import soundfile

    digest = hashlib.sha256(repr(key).encode()).hexdigest()
    path = folder() / digest[:2] / f"{digest[2:32]}.flac"
    if path.exists():
        samples: Samples = soundfile.read(path, dtype="int16")[0]
        return samples
    made = make()
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    os.close(handle)
    try:
        soundfile.write(name, made, RATE_HZ, format="FLAC", subtype="PCM_16")
        Path(name).replace(path)
    finally:
        Path(name).unlink(missing_ok=True)
    return made
