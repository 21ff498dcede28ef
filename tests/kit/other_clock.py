"""Another wall clock and time zone for one program, by Debian's libfaketime; its monotonic clock stays the real one."""

from __future__ import annotations

import subprocess
from pathlib import Path

_PACKAGE = "libfaketime"
_LIBRARY = "libfaketimeMT.so.1"
ZONE_S = 9 * 3600
_ZONE = "FAR-9"
"""Nine hours east, as POSIX writes it. A program that runs never sees `TZ` change, so it is another zone from its start."""


class OtherClock:
    """A wall clock that can be set while the program runs, right at first, in a far time zone.

    Args:
        folder: a folder for the file by which it is set.
    """

    def __init__(self, folder: Path) -> None:
        self._offset = folder / "clock"
        self.set_off(0)
        files = subprocess.run(["dpkg", "-L", _PACKAGE], capture_output=True, text=True, check=True).stdout
        library = next(line for line in files.splitlines() if line.endswith(_LIBRARY))
        self.environment = {
            "LD_PRELOAD": library,
            "FAKETIME_TIMESTAMP_FILE": str(self._offset),
            "FAKETIME_NO_CACHE": "1",
            "FAKETIME_DONT_FAKE_MONOTONIC": "1",
            "TZ": _ZONE,
        }

    def set_off(self, seconds: int) -> None:
        """Set the clock so many seconds ahead of the real one."""
        part = self._offset.with_suffix(".part")
        part.write_text(f"{seconds:+d}\n", encoding="ascii")
        part.replace(self._offset)
