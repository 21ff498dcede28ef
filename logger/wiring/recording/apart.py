"""Recognisers in processes of their own, so that they never hold up the capture, nor one another.

PocketSphinx keeps Python's lock for as long as it decodes (half a second for a call, as measured, and as much longer as the
talk is), and the sound host's callback needs that lock: in one process, long talk would cost sound.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from contextlib import ExitStack, closing, suppress
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Self

import numpy as np

from grammar import Language
from logger.errors import OdovoxError, RecogniserError
from logger.model import Hypothesis, Samples
from logger.wiring.choosing import One, open_one
from logger.wiring.sheets import sheet_from

_LOAD_S = 120.0
_ANSWER_S = 60.0


class Apart:
    """Opens recognisers, each in a process of its own, and closes them all; use it in `with`.

    Args:
        sheet_toml: the sheet's text, "" for the default one.
    """

    def __init__(self, sheet_toml: str) -> None:
        self._sheet_toml = sheet_toml
        self._opened = ExitStack()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._opened.close()

    def open(self, one: One, model: Path | None) -> RecogniserApart:
        """Open one; see `choosing.choose_from`, which takes this.

        Raises:
            RecogniserError: it cannot be used.
        """
        return self._opened.enter_context(closing(RecogniserApart(one, model, self._sheet_toml)))


class RecogniserApart:
    """Keeps `logger.ports.Recogniser`; threads that ask at the same time wait for one another.

    Args:
        one, model, sheet_toml: as `open_one` and `Apart` take them.

    Raises:
        RecogniserError: what was asked for cannot be used.
    """

    def __init__(self, one: One, model: Path | None, sheet_toml: str) -> None:
        self._given = (one, model, sheet_toml)
        self._asking = threading.Lock()
        self._name = self._start()

    @property
    def name(self) -> str:
        """Which recogniser and model this is."""
        return self._name

    @property
    def process_id(self) -> int:
        """The process that listens now."""
        assert self._process.pid is not None
        return self._process.pid

    def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
        """Return the answers for one stretch, best first; a process that has died is started anew, once.

        Raises:
            RecogniserError: it fails again, or does not answer.
        """
        with self._asking:
            return self._asked(samples)

    def _asked(self, samples: Samples) -> tuple[Hypothesis, ...]:
        for attempt in (1, 2):
            try:
                self._connection.send_bytes(np.ascontiguousarray(samples, np.int16).tobytes())
                answer = self._received(_ANSWER_S)
            except (EOFError, OSError) as error:
                self.close()
                if attempt == 2:
                    raise RecogniserError(
                        "the recogniser has ended twice over one stretch; its sound is kept"
                    ) from error
                self._start()
                continue
            if isinstance(answer, OdovoxError):
                raise answer
            hypotheses: tuple[Hypothesis, ...] = answer
            return hypotheses
        raise AssertionError

    def close(self) -> None:
        """End it."""
        self._connection.close()
        if self._process.is_alive():
            self._process.kill()
        self._process.join(5)

    def _start(self) -> str:
        context = multiprocessing.get_context(
            "spawn"
        )  # a fork would take this process's threads' locks with it
        self._connection, theirs = context.Pipe()
        self._process = context.Process(target=_serve, args=(theirs, *self._given), daemon=True)
        self._process.start()
        theirs.close()
        try:
            loaded = self._received(_LOAD_S)
        except (EOFError, OSError) as error:
            self.close()
            raise RecogniserError(
                "the recogniser ends while it is loaded; use another --recogniser"
            ) from error
        if isinstance(loaded, OdovoxError):
            self.close()
            raise loaded
        return str(loaded)

    def _received(self, within_s: float) -> Any:
        if not self._connection.poll(within_s):
            raise EOFError
        return self._connection.recv()


def _serve(connection: Connection, one: One, model: Path | None, sheet_toml: str) -> None:
    """Load a recogniser and answer until the other end is closed, which the end of that process does too."""
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)  # the terminal sends them to both; the other process decides
    with suppress(EOFError, OSError):
        try:
            language = Language(sheet_from(sheet_toml).sheet.phrasebook)
            recogniser = open_one(one, model, language, two_processes=_cores() > 1)
        except OdovoxError as error:
            connection.send(error)
            return
        connection.send(recogniser.name)
        while True:
            samples = np.frombuffer(connection.recv_bytes(), np.int16)
            try:
                connection.send(recogniser.recognise(samples))
            except OdovoxError as error:
                connection.send(error)


def _cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0))
