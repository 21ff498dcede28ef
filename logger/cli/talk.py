"""What is said to the person at the keyboard: on stderr, a line at a time, without control characters."""

from __future__ import annotations

import shlex
import sys
import time
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from logger.errors import OdovoxError
    from logger.model import Issue
    from logger.wiring.ingest import Progress
    from logger.wiring.reconciling import Summary

_EVERY_S = 0.2
"""How often a line that is written over may change."""
_EVERY_PLAIN_S = 10.0
"""How often a line of its own says how far it is, where nothing can be written over."""


def one_line(text: str) -> str:
    """Return a text as one line without characters that could steer a terminal."""
    return "".join(letter if letter.isprintable() else "?" for letter in " ".join(text.split()))


def printable(line: str) -> str:
    """Return a line without characters that could steer a terminal; unlike `one_line`, spaces stay."""
    return "".join(letter if letter.isprintable() else "?" for letter in line)


def say(text: str) -> None:
    """Write one line to stderr."""
    click.echo(f"odovox: {one_line(text)}", err=True)


def error_line(text: str) -> None:
    """Write one line on what went wrong to stderr."""
    say(f"error: {text}")


class LeftOut:
    """Tells of each of several drives that cannot be read, as it comes; called with what is wrong with it.

    Attributes:
        any: whether there was one.
    """

    def __init__(self) -> None:
        self.any = False

    def __call__(self, error: OdovoxError) -> None:
        """Write one line on it."""
        error_line(f"left out: {error}")
        self.any = True


class Teller:
    """Tells how the taking-in goes: on a terminal in one line that changes, elsewhere in a line now and then."""

    def __init__(self) -> None:
        self._terminal = sys.stderr.isatty()
        self._began_s: float | None = None
        self._told_s = time.monotonic()
        self._width = 0

    def remark(self, text: str) -> None:
        """Write one line."""
        self.clear()
        say(text)

    def odd(self, issue: Issue) -> None:
        """Write one line about something odd."""
        self.remark(f"note: {issue.message}")

    def progress(self, progress: Progress) -> None:
        """Say how far it is, not too often."""
        now_s = time.monotonic()
        if self._began_s is None:
            self._began_s = now_s
        if now_s - self._told_s < (_EVERY_S if self._terminal else _EVERY_PLAIN_S):
            return
        self._told_s = now_s
        text = progress_text(progress, now_s - self._began_s)
        if not self._terminal:
            say(text)
            return
        line = one_line(text)[:100]
        click.echo("\r" + line.ljust(self._width), nl=False, err=True)
        self._width = len(line)

    def clear(self) -> None:
        """Wipe the line that changes, so that another can be written."""
        if self._width:
            click.echo("\r" + " " * self._width + "\r", nl=False, err=True)
            self._width = 0


def progress_text(progress: Progress, spent_s: float) -> str:
    """Return how far it is: share, calls heard, and how much faster than listening it goes."""
    share = f"{min(1.0, progress.done_s / progress.total_s):.0%} " if progress.total_s else ""
    speed = f", {progress.done_s / spent_s:.0f} x as fast as heard" if spent_s > 1 else ""
    return f"{share}{progress.name}: {_minutes(progress.done_s)} read, {progress.calls} calls{speed}"


def summary_text(summary: Summary, where: str) -> str:
    """Return what a drive holds, in one line."""
    parts = [f"{count} {status.value}" for status, count in sorted(summary.counts.items())]
    entries = f"{sum(summary.counts.values())} entries ({', '.join(parts)})" if parts else "no entries"
    return f"{where}: {summary.calls} calls, {entries}; see `odovox log {shlex.quote(where)}`"


def _minutes(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"
