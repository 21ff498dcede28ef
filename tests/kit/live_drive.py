"""`odovox record` in a process of its own, with a microphone and a receiver that a test feeds, and every line it writes."""

from __future__ import annotations

import csv
import os
import signal
import sqlite3
import subprocess
import threading
import time
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
from command_line import CommandLine, command, environment
from numpy.typing import NDArray
from sound_server import RATE_HZ, SoundServer
from speechkit.speaking import say
from speechkit.voices import voice

_VOICE, _OTHER_VOICE = "flite-kal16", "flite-slt"
_SAID_OTHERWISE = frozenset({"say again"})
"""Phrases that the two recognisers joined never hear in the first voice; that is for the benchmarks to count."""
_GAIN = 0.6


def spoken(calls: list[tuple[float, str]], length_s: float) -> NDArray[np.int16]:
    """Calls at their seconds, in faint noise: sample 0 of each is where its first word becomes audible."""
    sound = np.random.default_rng(3).normal(0, 60, round(length_s * RATE_HZ))
    for at_s, text in calls:
        said = say(voice(_OTHER_VOICE if text in _SAID_OTHERWISE else _VOICE), text)
        at = round(at_s * RATE_HZ)
        sound[at : at + len(said)] += said * _GAIN
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)


def spoken_s(text: str) -> float:
    """How long a call takes to say."""
    return len(say(voice(_VOICE), text)) / RATE_HZ


class Recording:
    """A running `odovox record`; use it in `with`, which kills it if it still runs.

    Args:
        out: the drive's folder.
        server: the sound server, or None for none.
        arguments: further options.
        mortal: permissions count, as they do for all but the superuser that tests may run as.
        extra: further variables of its environment.
    """

    def __init__(
        self,
        out: Path,
        server: SoundServer | None,
        *arguments: str | Path,
        mortal: bool = False,
        extra: dict[str, str] | None = None,
    ) -> None:
        nowhere = out.parent / "nowhere"
        nowhere.mkdir(exist_ok=True)
        sound = {"XDG_RUNTIME_DIR": str(nowhere), "PULSE_SERVER": f"unix:{nowhere}/none"}
        start = command("record", "--out", out, *arguments)
        if mortal and os.geteuid() == 0:
            without = "-dac_override,-dac_read_search"
            start = ["setpriv", f"--bounding-set={without}", f"--inh-caps={without}", *start]
        self.process = subprocess.Popen(
            start,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=nowhere,
            env=environment(nowhere) | (sound if server is None else server.environment) | (extra or {}),
            preexec_fn=_hear_signals,  # noqa: PLW1509  (it does nothing that a thread could be in the middle of)
        )
        self.lines: list[tuple[float, str]] = []
        """What it wrote to stderr, each line with the monotonic second at which it came."""
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
        self._reading.join(5)
        if self.process.stdout is not None:
            self.process.stdout.close()

    @property
    def text(self) -> str:
        """All that it wrote."""
        return "\n".join(line for _, line in self.lines)

    def wait_for(self, what: str, seconds: float = 40.0, *, after: int = 0) -> int:
        """Wait for a line with this in it, at or behind line `after`; return the number of the line behind it."""
        until_s = time.monotonic() + seconds
        while time.monotonic() < until_s:
            for number, (_, line) in enumerate(self.lines[after:], after):
                if what in line:
                    return number + 1
            if self.process.poll() is not None and not self._reading.is_alive():
                break
            time.sleep(0.02)
        raise AssertionError(f"no line with {what!r} in\n{self.text}")

    def end(self, number: int = signal.SIGINT, seconds: float = 60.0) -> int:
        """Send a signal; return the exit code."""
        self.process.send_signal(number)
        code = self.ended(seconds)
        assert "Traceback" not in self.text, self.text
        return code

    def kill(self) -> None:
        """End it as a crash does."""
        self.process.kill()
        self.ended()

    def ended(self, seconds: float = 60.0) -> int:
        """Wait for its end; return the exit code."""
        code = self.process.wait(seconds)
        self._reading.join(5)
        return code

    def _read(self) -> None:
        assert self.process.stderr is not None
        with self.process.stderr as stream:
            for line in stream:
                self.lines.append((time.monotonic(), line.rstrip("\n")))


def _hear_signals() -> None:
    """Undo what a shell does to programs in the background, which are to ignore Ctrl-C."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    signal.signal(signal.SIGHUP, signal.SIG_DFL)


def rows(folder: Path, sql: str) -> list[tuple[object, ...]]:
    """Ask a drive's database, as another program would."""
    db = sqlite3.connect(f"{(folder / 'drive.sqlite').as_uri()}?mode=ro", uri=True)
    try:
        return db.execute(sql).fetchall()
    finally:
        db.close()


def is_whole(folder: Path) -> bool:
    """Whether SQLite finds nothing wrong with a drive's database."""
    return rows(folder, "PRAGMA integrity_check") == [("ok",)] and not rows(
        folder, "PRAGMA foreign_key_check"
    )


def drive_log(run: CommandLine, folder: Path, *options: str) -> list[dict[str, str]]:
    """The log of a drive, row by row."""
    done = run("log", folder, "--format", "csv", *options)
    assert 0 == done.returncode, done.stderr
    return list(csv.DictReader(done.stdout.splitlines()))


def opens(run: CommandLine, folder: Path) -> None:
    """A drive can be logged, reconciled, reviewed and reported on, and its database is whole."""
    assert is_whole(folder)
    for arguments in (
        ("log", folder, "--format", "csv"),
        ("reconcile", folder),
        ("review", folder, "--terminal", "--no-sound"),
        ("report", folder, "--format", "json"),
    ):
        done = run(*arguments)
        assert done.returncode in {0, 1}, done.stderr
        assert "Traceback" not in done.stderr


def monotonic_to_utc_ns() -> int:
    """What to add to the monotonic clock for UTC by this machine's clock."""
    return time.time_ns() - time.monotonic_ns()
