"""Another wall clock and time zone for one program, by Debian's libfaketime; its monotonic clock stays the real one."""

from __future__ import annotations

import struct
import subprocess
from pathlib import Path

_PACKAGE = "libfaketime"
_LIBRARY = "libfaketimeMT.so.1"
ZONE_S, NEXT_ZONE_S = 9 * 3600, -4 * 3600


class OtherClock:
    """A wall clock that can be set while the program runs, right at first, in a far time zone that can change too.

    Of another zone, as of another `/etc/localtime`, a program hears when it calls `tzset` or starts another one.

    Args:
        folder: a folder for the files by which it is set.
    """

    def __init__(self, folder: Path) -> None:
        self._offset, self._zone = folder / "clock", folder / "zone"
        self.set_off(0)
        self.cross_to(ZONE_S)
        files = subprocess.run(["dpkg", "-L", _PACKAGE], capture_output=True, text=True, check=True).stdout
        library = next(line for line in files.splitlines() if line.endswith(_LIBRARY))
        self.environment = {
            "LD_PRELOAD": library,
            "FAKETIME_TIMESTAMP_FILE": str(self._offset),
            "FAKETIME_NO_CACHE": "1",
            "FAKETIME_DONT_FAKE_MONOTONIC": "1",
            "TZ": f":{self._zone}",
        }

    def cross_to(self, east_s: int) -> None:
        """Be in a time zone so many seconds east of Greenwich from now on."""
        # One zone without summer time, as RFC 8536 writes version 1: no transitions, one type, a name of four bytes.
        header = struct.pack(">4s16x6L", b"TZif", 0, 0, 0, 0, 1, 4)
        self._zone.write_bytes(header + struct.pack(">lBB4s", east_s, 0, 0, b"FAR"))

    def set_off(self, seconds: int) -> None:
        """Set the clock so many seconds ahead of the real one."""
        part = self._offset.with_suffix(".part")
        part.write_text(f"{seconds:+d}\n", encoding="ascii")
        part.replace(self._offset)
