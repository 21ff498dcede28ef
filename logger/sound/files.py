"""Sound files of any rate and channel count, read as blocks of mono sound at `RATE_HZ`.

Files are read a little at a time, so memory does not grow with their length. What is odd about the sound (cut off,
clipped, silent) is known only when all of it has been read: it is in `SoundFile.issues` after an iteration.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISDIR, S_ISREG
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from logger.errors import SoundError
from logger.model import RATE_HZ, Issue, SoundBlock
from logger.sound.ear import Ear
from logger.sound.headers import foreign_kind, is_cut_off

if TYPE_CHECKING:
    import soundfile

_FORMATS = frozenset({"WAV", "WAVEX", "RF64", "W64", "FLAC", "OGG", "AIFF"})
_EXACT_SEEK = _FORMATS - {"OGG"}
"""Where a seek gives the very samples that reading up to there gives; lossy decoders need a run-up."""
_READ_FRAMES = 4096
"""Frames read at a time: what a decoder had of a piece before it failed is lost, so pieces are small."""
_UNRECOGNISED = 1
"""libsndfile's SF_ERR_UNRECOGNISED_FORMAT."""
_NO_LENGTH = 1 << 62
"""libsndfile gives about 2^63 frames for a stream that doesn't say how long it is."""
_WANTED = "give WAV, FLAC or Ogg (Vorbis or Opus)"

_Frames = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class SoundFileInfo:
    """What a sound file says of itself."""

    frame_count: int | None
    """Samples a channel at `rate_hz`; None where the file doesn't say."""
    rate_hz: int
    channels: int
    format: str
    """The container, such as "WAV", "FLAC" or "OGG"."""
    coding: str
    """What is in it, such as "PCM_16", "VORBIS" or "OPUS"."""

    @property
    def duration_s(self) -> float | None:
        """The length in seconds, None where the file doesn't say."""
        return None if self.frame_count is None else self.frame_count / self.rate_hz


class SoundFile:
    """One sound file as an iterable of blocks; each iteration reads it anew.

    Channels are averaged. Sample n is what was heard n / `RATE_HZ` seconds after the file began: the resampler's
    own delay is already taken out.

    Args:
        path: the file.
        block_samples: samples in each block but the last.
        first_sample: where to begin, in samples at `RATE_HZ`. What follows is sample for sample what reading from
            the beginning gives: files without loss at `RATE_HZ` are sought; all others are decoded from their
            beginning and dropped up to there, because a lossy decoder or a resampler started in the middle rounds
            differently.

    Raises:
        SoundError: the file is missing, unreadable, empty, no sound file or of an unsupported kind; an iteration
            raises it when not one sample can be read.
    """

    def __init__(self, path: Path, *, block_samples: int = RATE_HZ, first_sample: int = 0) -> None:
        if block_samples < 1 or first_sample < 0:
            raise ValueError("block_samples must be positive, first_sample not negative")
        self.path = path
        self.info = sound_file_info(path)
        self.issues: tuple[Issue, ...] = ()
        self._block_samples = block_samples
        self._first_sample = first_sample

    def __iter__(self) -> Iterator[SoundBlock]:
        self.issues = ()
        sought = self.info.rate_hz == RATE_HZ and self.info.format in _EXACT_SEEK
        ear = Ear(self.path)
        pieces = _resampled(_mono(self.path, ear, self._first_sample if sought else 0), self.info.rate_hz)
        at, drop = self._first_sample, 0 if sought else self._first_sample
        waiting: list[_Frames] = []
        count = 0
        for piece in pieces:
            kept = piece[drop:]
            drop -= min(drop, len(piece))
            waiting.append(kept)
            count += len(kept)
            if count >= self._block_samples:
                joined = np.concatenate(waiting)
                while len(joined) >= self._block_samples:
                    yield _block(at, joined[: self._block_samples])
                    at += self._block_samples
                    joined = joined[self._block_samples :]
                waiting, count = [joined], len(joined)
        if count:
            yield _block(at, np.concatenate(waiting))
        self.issues = ear.issues()


def sound_file_info(path: Path) -> SoundFileInfo:
    """Say how long a sound file is and what is in it.

    Raises:
        SoundError: the file is missing, unreadable, empty, no sound file or of an unsupported kind.
    """
    with _opened(path) as file:
        frames = None if file.frames >= _NO_LENGTH else int(file.frames)
        return SoundFileInfo(frames, int(file.samplerate), int(file.channels), file.format, file.subtype)


def file_sha256(path: Path) -> str:
    """Return the SHA-256 of a file's bytes in hexadecimal.

    Raises:
        SoundError: the file cannot be read.
    """
    _require_file(path)
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise SoundError(f"{path}: cannot be read ({error.strerror})") from error


def _require_file(path: Path) -> int:
    """Return the size of an existing regular file."""
    try:
        status = path.stat()
    except FileNotFoundError as error:
        raise SoundError(f"{path}: no such file; check the name") from error
    except OSError as error:
        raise SoundError(f"{path}: cannot be read ({error.strerror})") from error
    if S_ISDIR(status.st_mode):
        raise SoundError(f"{path}: is a folder; name the sound files in it")
    if not S_ISREG(status.st_mode):
        raise SoundError(f"{path}: is not a regular file; copy the sound into a file first")
    return status.st_size


def _opened(path: Path) -> soundfile.SoundFile:
    """Open a sound file of a known kind that has at least one frame."""
    import soundfile  # heavy

    if _require_file(path) == 0:
        raise SoundError(f"{path}: is empty; the recording was not saved")
    try:
        with path.open("rb") as plain:
            kind = foreign_kind(plain.read(16))
    except OSError as error:
        raise SoundError(f"{path}: cannot be read ({error.strerror})") from error
    if kind is not None:
        raise SoundError(f"{path}: {kind} is not supported; {_WANTED}")
    try:
        file = soundfile.SoundFile(os.fsencode(path))
    except TypeError as error:  # a name that ends in .raw
        raise SoundError(f"{path}: raw sound without a header is not supported; {_WANTED}") from error
    except soundfile.LibsndfileError as error:
        if error.code == _UNRECOGNISED:
            raise SoundError(f"{path}: is not a sound file; {_WANTED}") from error
        reason = error.error_string.rstrip(".")
        raise SoundError(f"{path}: is damaged or of an unsupported kind ({reason}); {_WANTED}") from error
    if file.format not in _FORMATS:
        file.close()
        raise SoundError(f"{path}: {file.format_info} is not supported; {_WANTED}")
    if file.frames == 0:
        file.close()
        raise SoundError(f"{path}: has a header but no sound; the recording was not saved")
    return file


def _mono(path: Path, ear: Ear, first_frame: int) -> Iterator[_Frames]:
    """Yield a file's frames from one on, channels averaged; an ear listens in.

    Raises:
        SoundError: not one frame can be read.
    """
    import soundfile  # heavy

    with _opened(path) as file:
        promised = int(file.frames)
        at = min(first_frame, promised)
        failure = ""
        try:
            if at:
                file.seek(at)
            while len(frames := file.read(_READ_FRAMES, dtype="float32", always_2d=True)):
                at += len(frames)
                yield ear.hear(frames)
        except soundfile.LibsndfileError as error:
            failure = error.error_string.rstrip(".") or "the decoder gave up"
    if at == 0:
        raise SoundError(f"{path}: no sound in it can be read ({failure or 'it is damaged'}); copy it anew")
    if failure or (promised < _NO_LENGTH and at < promised) or is_cut_off(path):
        ear.note_cut_off(at / file.samplerate)


def _resampled(pieces: Iterator[_Frames], rate_hz: int) -> Iterator[_Frames]:
    if rate_hz == RATE_HZ:
        yield from pieces
        return
    import soxr  # heavy

    stream = soxr.ResampleStream(rate_hz, RATE_HZ, 1, dtype="float32")
    for piece in pieces:
        yield stream.resample_chunk(piece)
    yield stream.resample_chunk(np.empty(0, np.float32), last=True)


def _block(first_sample: int, sound: _Frames) -> SoundBlock:
    scaled = np.clip(np.rint(sound * 32768.0), -32768, 32767)
    return SoundBlock(first_sample, scaled.astype(np.int16))
