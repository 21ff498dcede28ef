"""Clips: the kept sound of each stretch, one small FLAC file apiece."""

from __future__ import annotations

import io
import os
from contextlib import suppress
from pathlib import Path

from logger.errors import SoundError, StoreError
from logger.model import RATE_HZ, Samples


def write_clip(path: Path, samples: Samples) -> None:
    """Write a clip so that after a crash there is either all of it or none.

    The same samples give the same bytes. A clip that is there already is replaced.

    Args:
        path: where to, in a folder that exists.
        samples: at least one sample.

    Raises:
        StoreError: the clip cannot be written: disk full, folder missing or read-only.
    """
    import soundfile  # heavy

    if not len(samples):
        raise ValueError("a clip needs at least one sample")
    coded = io.BytesIO()
    soundfile.write(coded, samples, RATE_HZ, format="FLAC", subtype="PCM_16")
    part = path.with_name(f"{path.name}.part")
    try:
        try:
            with part.open("wb") as file:
                file.write(coded.getbuffer())
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        except OSError:
            with suppress(OSError):
                part.unlink()
            raise
        _sync_folder(path.parent)
    except OSError as error:
        raise StoreError(
            f"{path}: cannot be written ({error.strerror}); free some space or choose another folder"
        ) from error


def read_clip(path: Path) -> Samples:
    """Return a clip's samples.

    Raises:
        SoundError: the clip is missing, damaged, or not mono at `RATE_HZ`.
    """
    import soundfile  # heavy

    try:
        with path.open("rb") as file:
            coded = io.BytesIO(file.read())
    except OSError as error:
        raise SoundError(
            f"{path}: cannot be read ({error.strerror}); is the drive folder complete?"
        ) from error
    try:
        samples, rate_hz = soundfile.read(coded, dtype="int16")
    except soundfile.LibsndfileError as error:
        raise SoundError(f"{path}: is damaged; restore it from a copy of the drive folder") from error
    if rate_hz != RATE_HZ or samples.ndim != 1:
        raise SoundError(f"{path}: is not mono at {RATE_HZ} Hz; restore it from a copy of the drive folder")
    clip: Samples = samples
    return clip


def _sync_folder(folder: Path) -> None:
    """Make a rename last through a power cut."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
