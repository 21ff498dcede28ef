"""The real gpsd with a receiver of ours: a pseudo-terminal that is fed one burst of NMEA a second."""

from __future__ import annotations

import functools
import operator
import os
import pty
import signal
import socket
import subprocess
import tempfile
import threading
import time
import tty
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Self

LAT_DEG, LON_DEG = 52.2, 1.7
METRES_A_MINUTE = 1854.3
"""Of latitude, at this place on the ellipsoid."""
SPEED_MPS = 25.0
"""What its reports say, and what a moving one does: 48.60 knots."""
GPSD = "/usr/sbin/gpsd"
GPSDCTL = "/usr/sbin/gpsdctl"


def free_port() -> int:
    """A port of this machine that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def burst(at: datetime, mode: int, north_m: float = 0.0) -> bytes:
    """What a receiver says of one instant: RMC, GGA, GSA and GSV, in mode 1 (no fix), 2 or 3; so far north of its place."""
    day, date = at.strftime("%H%M%S.") + f"{at.microsecond // 1000:03d}", at.strftime("%d%m%y")
    altitude = "11.5" if mode == 3 else ""
    if mode == 1:
        bodies = [
            f"GPRMC,{day},V,,,,,,,{date},,,N",
            f"GPGGA,{day},,,,,0,00,,,M,,M,,",
            "GPGSA,A,1,,,,,,,,,,,,,,,",
        ]
    else:
        minutes = 12.0 + north_m / METRES_A_MINUTE
        place = f"52{minutes:07.4f},N,00142.0000,E"
        bodies = [
            f"GPRMC,{day},A,{place},48.60,084.4,{date},,,A",
            f"GPGGA,{day},{place},1,08,0.9,{altitude},M,44.0,M,,",
            f"GPGSA,A,{mode},01,02,03,04,05,06,07,08,,,,,1.6,0.9,1.3",
            "GPGSV,2,1,08,01,40,083,46,02,17,308,41,03,07,344,39,04,60,100,40",
            "GPGSV,2,2,08,05,40,183,46,06,17,208,41,07,27,044,39,08,50,200,40",
        ]
    return b"".join(
        f"${body}*{functools.reduce(operator.xor, body.encode('ascii')):02X}\r\n".encode("ascii")
        for body in bodies
    )


def _line() -> tuple[int, int, str]:
    """A new pseudo-terminal: our end, the receiver's end, and what that is called."""
    master, slave = pty.openpty()
    tty.setraw(master)
    tty.setraw(slave)
    path = os.ttyname(slave)
    Path(path).chmod(0o666)  # gpsd gives up being root
    return master, slave, path


class Receiver:
    """A running gpsd at `port`; use it in `with`.

    Args:
        mode: what the receiver knows: 0 (it says nothing), 1 (no fix), 2 or 3; may be changed while it runs.
        behind_s: how long after its instant each burst comes.
        device: gpsd has a receiver at all.
        moving: it goes north at `SPEED_MPS`.

    `behind` (time) and `leap_m` (north) may be changed while it runs.
    """

    def __init__(
        self, mode: int = 3, *, behind_s: float = 0.0, device: bool = True, moving: bool = False
    ) -> None:
        self.port = free_port()
        self.address = f"127.0.0.1:{self.port}"
        self.mode = mode
        self.behind = timedelta(seconds=behind_s)
        self.leap_m = 0.0
        self._moving = moving
        self.began = datetime.now(UTC)
        """When a moving one was at its place."""
        self._master, self._slave, self.path = _line()
        self._plugged = threading.Lock()
        self._device = device
        self._folder = tempfile.TemporaryDirectory(prefix="odovox-gpsd-")
        self._control = f"{self._folder.name}/control"
        self._process: subprocess.Popen[bytes] | None = None
        self._ending = threading.Event()
        self._feeding = threading.Thread(target=self._feed, daemon=True)

    def __enter__(self) -> Self:
        self.start()
        self._feeding.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._ending.set()
        self._feeding.join(5)
        self.kill()
        for end in (self._master, self._slave):
            if end >= 0:
                os.close(end)
        self._folder.cleanup()

    def start(self) -> None:
        """Start gpsd, and return when it takes connections."""
        devices = [self.path] if self._device else []
        self._process = subprocess.Popen(
            [GPSD, "-N", "-n", "-b", "-F", self._control, "-S", str(self.port), *devices],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for _ in range(100):
            try:
                socket.create_connection(("127.0.0.1", self.port), 1).close()
            except OSError:
                time.sleep(0.05)
            else:
                return
        raise RuntimeError("gpsd does not answer")

    def kill(self) -> None:
        """End gpsd at once."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def unplug(self) -> None:
        """Take the receiver away: its line breaks, and then gpsd is told, as Debian's rules for udev do."""
        with self._plugged:
            gone = self.path
            os.close(self._master)
            os.close(self._slave)
            self._master = self._slave = -1
        self._tell("remove", gone)

    def plug(self) -> None:
        """Plug it in again, which gives it another name, and tell gpsd."""
        with self._plugged:
            self._master, self._slave, self.path = _line()
        self._tell("add", self.path)

    def _tell(self, what: str, path: str) -> None:
        subprocess.run(
            [GPSDCTL, what, path],
            env=os.environ | {"GPSD_SOCKET": self._control},
            check=True,
            capture_output=True,
            timeout=10,
        )

    def freeze(self) -> None:
        """Let gpsd hang."""
        assert self._process is not None
        self._process.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """Let it go on."""
        assert self._process is not None
        self._process.send_signal(signal.SIGCONT)

    def _feed(self) -> None:
        due_s = time.monotonic()
        while not self._ending.is_set():
            if self.mode:
                now = datetime.now(UTC)
                north_m = self.leap_m + (
                    SPEED_MPS * (now - self.began).total_seconds() if self._moving else 0.0
                )
                with self._plugged:
                    if self._master >= 0:
                        os.write(self._master, burst(now - self.behind, self.mode, north_m))
            due_s += 1.0
            self._ending.wait(max(0.0, due_s - time.monotonic()))
