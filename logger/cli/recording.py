"""How a live drive is told: a calm view on a terminal, elsewhere a line for each thing that happens."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from textwrap import wrap
from typing import TYPE_CHECKING, Any

import click

from logger.cli.checked import CAUTION
from logger.cli.talk import one_line, say
from logger.core.live_view import LiveState, entry_text, view_lines
from logger.core.times import elapsed_text

if TYPE_CHECKING:
    from logger.core.verdicts import Verdict
    from logger.model import Entry

CAUTIONS = (
    CAUTION,
    "running to empty in traffic is dangerous: do it off busy roads with help at hand (docs/safety.md)",
)
_SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
_USUAL_SIZE = os.terminal_size((80, 24))
_UP = "\x1b[{}A"
_CLEAR_BELOW = "\r\x1b[J"
"""Cursor up and erase below: ECMA-48's CUU and ED."""


class RecordTeller:
    """Tells on stderr how a drive goes."""

    def __init__(self) -> None:
        self._terminal = sys.stderr is not None and sys.stderr.isatty()
        self._shown: tuple[str, ...] = ()

    def remark(self, text: str) -> None:
        """Write one line, above the view where there is one."""
        if self._terminal:
            self._write(wrapped(f"odovox: {one_line(text)}", _size().columns - 1), self._shown)
        else:
            say(text)

    def heard(self, entries: Sequence[Entry], verdict: Verdict) -> None:
        """Write a line about a call; the view has it anyway."""
        if not self._terminal:
            what = ", ".join(entry_text(entry) for entry in entries)
            say(f"{elapsed_text(entries[0].at_ns / 1e9)} {verdict.value.replace('_', ' ')}: {what}")

    def show(self, state: LiveState) -> None:
        """Draw the view anew, if anything in it has changed."""
        if not self._terminal:
            return
        size = _size()
        lines = tuple(printable(line) for line in view_lines(state, size.columns, size.lines))
        if lines != self._shown:
            self._write((), lines)

    def close(self) -> None:
        """Wipe the view."""
        if self._shown:
            self._write((), ())

    def _write(self, above: Sequence[str], view: tuple[str, ...]) -> None:
        """Put lines where the view was, and the view below them, at one stroke: a screen that is half drawn flickers."""
        wipe = _UP.format(len(self._shown)) + _CLEAR_BELOW if self._shown else ""
        click.echo(wipe + "".join(f"{line}\n" for line in (*above, *view)), nl=False, err=True)
        self._shown = view


def printable(text: str) -> str:
    """Return a line without characters that could steer a terminal, its spaces as they are."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def wrapped(text: str, width: int) -> list[str]:
    """Return a line as lines that a terminal of this width need not break, but within a word that is longer."""
    return wrap(text, max(20, width), subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)


def _size() -> os.terminal_size:
    """Return the size of the terminal that stderr is, which the person may change at any time."""
    try:
        size = os.get_terminal_size(sys.stderr.fileno())
    except (OSError, ValueError):
        return _USUAL_SIZE
    return size if size.columns and size.lines else _USUAL_SIZE


@contextmanager
def stopping() -> Iterator[threading.Event]:
    """Turn the signals that end a drive into an event; a second one ends the program at once."""
    stop = threading.Event()
    before = {number: signal.getsignal(number) for number in _SIGNALS}
    # What the person's shell had ignored (nohup) stays so.
    numbers = [number for number in _SIGNALS if before[number] is not signal.SIG_IGN]

    def set_stop(number: int, frame: Any) -> None:  # noqa: ARG001  (the signature of a handler)
        stop.set()
        for each in numbers:
            signal.signal(each, before[each] or signal.SIG_DFL)

    for number in numbers:
        signal.signal(number, set_stop)
    try:
        yield stop
    finally:
        for number in numbers:
            signal.signal(number, before[number] or signal.SIG_DFL)
