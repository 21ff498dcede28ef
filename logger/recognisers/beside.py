"""A part of a recogniser's work done by a second process, on the same models in hardly more memory.

PocketSphinx keeps Python's lock while it decodes, so that a thread would not help.
"""

from __future__ import annotations

import os
import signal
import weakref
from collections.abc import Callable
from contextlib import suppress
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from typing import Generic, TypeVar

import numpy as np

from logger.model import Samples

_T = TypeVar("_T")


class Beside(Generic[_T]):
    """Works on one sound while its owner does something else; where the second process has died, its owner does the work.

    Make it in a process without other threads: the second one is forked from it, and ends with it.

    Args:
        work: what is to be done with a sound; its result must be picklable.
    """

    def __init__(self, work: Callable[[Samples], _T]) -> None:
        self._work = work
        self._samples: Samples = np.zeros(0, np.int16)
        self._owed = 0
        """Sounds whose results were not taken yet."""
        self._connection, theirs = Pipe()
        self.process_id = os.fork()
        if not self.process_id:
            self._connection.close()  # or it would never hear that the other end is closed
            _serve(theirs, work)
        theirs.close()
        weakref.finalize(self, _end, self._connection, self.process_id)

    def begin(self, samples: Samples) -> None:
        """Begin to work on a sound; the one before is forgotten."""
        self._samples = samples
        with suppress(OSError):
            self._connection.send_bytes(samples.tobytes())
            self._owed += 1

    def result(self) -> _T:
        """Wait for what was begun last, and return it."""
        with suppress(EOFError, OSError):
            while self._owed:
                self._owed -= 1
                result: _T = self._connection.recv()
                if not self._owed:
                    return result
        return self._work(self._samples)


def _serve(connection: Connection, work: Callable[[Samples], object]) -> None:
    """Work until the other end is closed, which the end of its process does too; never return into the copied program."""
    try:
        while True:
            connection.send(work(np.frombuffer(connection.recv_bytes(), np.int16)))
    finally:
        os._exit(0)


def _end(connection: Connection, process_id: int) -> None:
    connection.close()
    with suppress(ChildProcessError, ProcessLookupError):
        os.kill(process_id, signal.SIGKILL)
        os.waitpid(process_id, 0)
