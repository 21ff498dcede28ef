"""A disk that can be full: a small file system of its own where this machine lets us make one, else a limit on what a program writes."""

from __future__ import annotations

import resource
import subprocess
import time
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self

_MEGABYTES = 8


class SmallDisk:
    """A tmpfs of 8 MB at `folder`; use it in `with`. Mounting takes the rights that root has in most containers.

    Without them, `fill` keeps a program from writing files, which the kernel refuses with EFBIG where a full disk says
    ENOSPC; both come at the same calls.

    Args:
        folder: where it is to be; made if need be.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(exist_ok=True)
        mounting = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", f"size={_MEGABYTES}m,mode=700", "odovox-test", str(folder)],
            capture_output=True,
            text=True,
            check=False,
        )
        self.is_real = mounting.returncode == 0
        """Whether it is a file system of its own."""
        self.why_not = mounting.stderr.strip()
        self._ballast = folder / "ballast"
        self._limited = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.is_real:
            for _ in range(50):
                if subprocess.run(["umount", self.folder], capture_output=True, check=False).returncode == 0:
                    return
                time.sleep(0.1)
            subprocess.run(["umount", "--lazy", self.folder], check=True)

    def fill(self, process_id: int) -> None:
        """Fill it to the last byte; `process_id` is who may write no more."""
        if not self.is_real:
            self._limited = process_id
            resource.prlimit(process_id, resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))
            return
        with self._ballast.open("ab", buffering=0) as file, suppress(OSError):
            for size in (1 << 16, 1):
                with suppress(OSError):
                    while True:
                        file.write(bytes(size))

    def empty(self) -> None:
        """Make room again."""
        if self.is_real:
            self._ballast.unlink()
        else:
            unlimited = (resource.RLIM_INFINITY, resource.RLIM_INFINITY)
            resource.prlimit(self._limited, resource.RLIMIT_FSIZE, unlimited)
