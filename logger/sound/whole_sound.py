"""The whole sound of a live drive on disk: FLAC files of a minute, and the minute that is not over yet.

That minute is a plain WAV file, to which each block is added as it comes: whatever happens, what was added can be played,
since its header says "to the end of the file" (lengths of 2^32-1, as streams have). Once it is over it becomes FLAC, and
only when that is whole on the disk does the WAV file go. Each file's name says which source it is of and which sample it
begins with; after lost samples a new file begins.
"""

from __future__ import annotations

import os
import struct
import threading
import time
from contextlib import suppress
from pathlib import Path

import numpy as np

from logger.errors import SoundError, StoreError
from logger.model import RATE_HZ, Samples
from logger.sound.clips import write_clip

FOLDER = "sound"
FILE_S = 60.0
SYNC_S = 1.0
"""What is older than this is on the disk itself, so that even a power cut leaves it."""
_UNKNOWN = 0xFFFFFFFF
_HEADER = struct.pack(
    "<4sI4s4sIHHIIHH4sI",
    b"RIFF", _UNKNOWN, b"WAVE", b"fmt ", 16, 1, 1, RATE_HZ, 2 * RATE_HZ, 2, 16, b"data", _UNKNOWN,
)  # fmt: skip


class WholeSound:
    """Keeps the sound of one source in the drive's folder.

    Args:
        drive: the drive's folder.
        source_id: whose sound it is.

    Raises:
        StoreError: the folder cannot be made.
    """

    def __init__(self, drive: Path, source_id: int) -> None:
        self._folder = drive / FOLDER
        self._source_id = source_id
        self._file: int | None = None
        self._path = self._folder / "none"
        self._count = 0
        self._next = 0
        self._synced_s = 0.0
        self._syncing: threading.Thread | None = None
        try:
            self._folder.mkdir(mode=0o700, exist_ok=True)
        except OSError as error:
            raise _unwritten(self._folder, error) from error

    def add(self, first_sample: int, samples: Samples) -> None:
        """Add what was heard next; it can be played when this returns, and is on the disk itself a second later.

        Raises:
            StoreError: the disk is full, or may not be written; what was added before stays, and nothing of this.
        """
        if self._file is not None and (first_sample != self._next or self._count >= FILE_S * RATE_HZ):
            self.end_file()
        try:
            if self._file is None:
                self._begin(first_sample)
            assert self._file is not None
            _write(self._file, np.ascontiguousarray(samples, "<i2").tobytes())
            self._sync(self._file)
        except OSError as error:
            if self._file is not None:
                with suppress(OSError):  # a part of it may be there, and it may be added again elsewhere
                    os.ftruncate(self._file, len(_HEADER) + 2 * self._count)
            self._let_go()
            raise _unwritten(self._path, error) from error
        self._count += len(samples)
        self._next = first_sample + len(samples)

    def end_file(self) -> None:
        """Make the file that is being added to FLAC; the next sound begins a new one.

        Raises:
            StoreError: there is no room for it; the WAV file stays.
        """
        if self._file is None:
            return
        self._let_go()
        pack(self._path)

    close = end_file

    def _begin(self, first_sample: int) -> None:
        self._path = self._folder / f"{self._source_id:03d}-{first_sample:010d}.wav"
        self._file = os.open(self._path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        self._count = 0
        _write(self._file, _HEADER)

    def _sync(self, file: int) -> None:
        """Have what was added brought to the disk itself, in a thread: a busy disk may take seconds, and sound goes on."""
        now_s = time.monotonic()
        busy = self._syncing is not None and self._syncing.is_alive()
        if busy or now_s - self._synced_s < SYNC_S:
            return
        self._synced_s = now_s
        self._syncing = threading.Thread(target=_synced, args=(os.dup(file),), daemon=True)
        self._syncing.start()

    def _let_go(self) -> None:
        if self._file is not None:
            with suppress(OSError):
                os.close(self._file)
            self._file = None


def leftover(drive: Path) -> tuple[Path, ...]:
    """Return the WAV files that a run left behind which could not end, in the order of their names."""
    return tuple(sorted((drive / FOLDER).glob("[0-9]*.wav")))


def sound_files(drive: Path, source_id: int) -> tuple[tuple[int, Path], ...]:
    """Return the files of one source, each with the sample it begins with, in order."""
    found = (drive / FOLDER).glob(f"{source_id:03d}-*")
    named = [(path, path.stem.partition("-")[2]) for path in found if path.suffix in {".wav", ".flac"}]
    return tuple(sorted((int(first), path) for path, first in named if first.isdecimal()))


def pack(path: Path) -> Path | None:
    """Make a WAV file that was added to FLAC, and return that; None where there was no sound in it.

    Raises:
        StoreError: there is no room for it; the WAV file stays.
        SoundError: the file cannot be read.
    """
    samples = open_file_samples(path)
    packed = path.with_suffix(".flac")
    # A run that ended between the two steps below left both, and the FLAC file is whole.
    if len(samples) and not packed.exists():
        write_clip(packed, samples)
        packed.chmod(0o600)
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise _unwritten(path, error) from error
    return packed if packed.exists() else None


def open_file_samples(path: Path) -> Samples:
    """Return what was added to a WAV file so far, its last sample left out where only half of it is there.

    Raises:
        SoundError: the file cannot be read.
    """
    try:
        raw = path.read_bytes()[len(_HEADER) :]
    except OSError as error:
        raise SoundError(
            f"{path}: cannot be read ({error.strerror}); is the drive folder complete?"
        ) from error
    return np.frombuffer(raw[: len(raw) // 2 * 2], "<i2").astype(np.int16)


def _synced(file: int) -> None:
    """Bring a file to the disk and close this descriptor of it; what fails here fails the next time something is added."""
    with suppress(OSError):
        try:
            os.fdatasync(file)
        finally:
            os.close(file)


def _write(file: int, data: bytes) -> None:
    while data:
        data = data[os.write(file, data) :]


def _unwritten(path: Path, error: OSError) -> StoreError:
    return StoreError(
        f"{path}: cannot be written ({error.strerror}); free some space or choose another folder"
    )
