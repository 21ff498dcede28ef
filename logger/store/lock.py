"""One program at a time records into a drive: a lock that ends with the program that holds it, however that ends."""

from __future__ import annotations

import fcntl
import os
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self

from logger.errors import StoreError

FILE_NAME = "recording.lock"


def recorder_of(folder: Path) -> str | None:
    """Return who records into a drive just now, as "process 123"; None where nobody does. Nothing is locked."""
    try:
        file = os.open(folder / FILE_NAME, os.O_RDONLY | os.O_CLOEXEC)
    except OSError:
        return None  # never recorded into, or not to be looked at
    try:
        fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        holder = os.pread(file, 20, 0).decode("ascii", "replace").strip()
        return f"process {holder}" if holder.isdecimal() else "another process"
    except OSError:
        return None
    finally:
        os.close(file)
    return None


class RecordingLock:
    """Held from the moment it is made, in a folder that is made too if need be (mode 0700); use it in `with`.

    Raises:
        StoreError: another program holds it, or the folder cannot be made or written.
    """

    def __init__(self, folder: Path) -> None:
        path = folder / FILE_NAME
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            self._file = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        except FileExistsError as error:
            raise StoreError(f"{folder} is a file; name a folder for the drive") from error
        except OSError as error:
            raise StoreError(
                f"{folder} cannot be written to ({error.strerror}); change its permissions, or choose another folder"
            ) from error
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            os.ftruncate(self._file, 0)
            os.write(self._file, f"{os.getpid()}\n".encode("ascii"))
        except BlockingIOError as error:
            holder = os.pread(self._file, 20, 0).decode("ascii", "replace").strip()
            os.close(self._file)
            who = f" (process {holder})" if holder.isdecimal() else ""
            raise StoreError(
                f"another odovox{who} records into {folder}; end that one, or name another folder with --out"
            ) from error
        except OSError as error:
            os.close(self._file)
            raise StoreError(
                f"{path} cannot be written ({error.strerror}); free some space or choose another folder"
            ) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        # The file stays: removing it could take it from under another program that has just opened it.
        with suppress(OSError):
            os.close(self._file)
