"""A terminal of our own: a program runs on a pseudo-terminal, and pyte, a terminal emulator, says what its screen shows."""

from __future__ import annotations

import fcntl
import os
import pty
import struct
import subprocess
import termios
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import pyte


class Terminal:
    """A program on a terminal of so many columns and rows; use it in `with`, which kills it if it still runs.

    `scrolled` is what went out of sight at the top so far.
    """

    def __init__(
        self, start: list[str], columns: int, rows: int, *, folder: Path, environment: dict[str, str]
    ) -> None:
        self._screen = pyte.HistoryScreen(columns, rows, history=10_000, ratio=0.5)
        self._stream = pyte.ByteStream(self._screen)
        self._lock = threading.Lock()
        self._master, self._slave = pty.openpty()
        self._set_size(columns, rows)
        self.settings = termios.tcgetattr(self._slave)
        """How the terminal was set before the program began."""
        self.process = subprocess.Popen(
            start,
            stdin=self._slave,
            stdout=self._slave,
            stderr=self._slave,
            cwd=folder,
            env=environment | {"TERM": "xterm"},
            start_new_session=True,
            preexec_fn=_take_terminal,  # noqa: PLW1509  (it does nothing that a thread could be in the middle of)
        )
        self._reading = threading.Thread(target=self._read, daemon=True)
        self._reading.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        os.close(self._slave)
        self._reading.join(5)
        os.close(self._master)

    @property
    def lines(self) -> list[str]:
        """What the screen shows, each line without the spaces behind it."""
        with self._lock:
            return [line.rstrip() for line in self._screen.display]

    @property
    def scrolled(self) -> list[str]:
        """What has left the screen at its top."""
        with self._lock:
            return [
                "".join(line[at].data for at in range(self._screen.columns)).rstrip()
                for line in self._screen.history.top
            ]

    @property
    def cursor(self) -> tuple[int, int, bool]:
        """Row and column of the cursor, from 0, and whether it is hidden."""
        with self._lock:
            return self._screen.cursor.y, self._screen.cursor.x, self._screen.cursor.hidden

    @property
    def settings_now(self) -> list[Any]:
        """How the terminal is set now."""
        return termios.tcgetattr(self._slave)

    def type(self, keys: str) -> None:
        """Press keys; of Ctrl-C the terminal makes a signal."""
        os.write(self._master, keys.encode())

    def resize(self, columns: int, rows: int) -> None:
        """Give it another size, as one drags a window's corner."""
        with self._lock:
            self._screen.resize(rows, columns)
        self._set_size(columns, rows)

    def wait_for(self, shown: Callable[[list[str]], bool] | str, seconds: float = 40.0) -> list[str]:
        """Wait until the screen shows something; return its lines."""
        until_s = time.monotonic() + seconds
        while time.monotonic() < until_s:
            lines = self.lines
            if any(shown in line for line in lines) if isinstance(shown, str) else shown(lines):
                return lines
            if self.process.poll() is not None and not self._reading.is_alive():
                break
            time.sleep(0.02)
        raise AssertionError(f"never shown: {shown!r} in\n" + "\n".join(self.lines))

    def _set_size(self, columns: int, rows: int) -> None:
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def _read(self) -> None:
        while True:
            try:
                data = os.read(self._master, 65_536)
            except OSError:  # nobody has the other end open any more
                return
            with self._lock:
                self._stream.feed(data)


def _take_terminal() -> None:
    """Make it the terminal that keys come from, as a shell does."""
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
