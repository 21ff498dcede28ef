"""How a live drive is told, and how signals end it."""

from __future__ import annotations

import os
import signal
from decimal import Decimal

import pytest

from logger.cli.recording import CAUTIONS, RecordTeller, printable, stopping, wrapped
from logger.core.live_view import LiveState
from logger.core.verdicts import Verdict
from logger.model import Entry, Origin, Status

ENTRY = Entry(
    "1-1", 1, 61_000_000_000, "charge", Decimal(63), "%", Status.ACCEPTED, 0.9, Origin.HEARD, "", "", ""
)
STATE = LiveState(61.0, [ENTRY], 1, None, 0.0, None, "mi")


def test_plain_is_a_line_an_event(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a terminal: calls and remarks, and nothing once a second."""
    teller = RecordTeller()
    teller.remark("the receiver\x1b[2J has a fix")
    teller.show(STATE)
    teller.heard([ENTRY], Verdict.NOT_UNDERSTOOD)
    teller.close()

    assert (
        "odovox: the receiver?[2J has a fix\nodovox: 0:01:01 not understood: charge 63 %\n"
        == capsys.readouterr().err
    )


def test_on_a_terminal_the_view_is_drawn_over(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Drawn once while nothing changes; a remark goes above it; it is wiped at the end."""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    teller = RecordTeller()
    teller.show(STATE)
    first = capsys.readouterr().err
    teller.show(STATE)
    assert "" == capsys.readouterr().err
    teller.heard([ENTRY], Verdict.TAKEN)
    assert "" == capsys.readouterr().err
    teller.remark("listening")
    remarked = capsys.readouterr().err
    teller.close()

    assert 11 == first.count("\n")
    assert "charge 63 %" in first
    assert remarked.startswith("\x1b[11A\r\x1b[Jodovox: listening\n")
    assert remarked.endswith(first)
    assert "\x1b[11A\r\x1b[J" == capsys.readouterr().err


def test_nothing_heard_steers_the_terminal() -> None:
    """Control characters become question marks; the view's own spaces stay."""
    assert "  0:01:01   a?[2Jb" == printable("  0:01:01   a\x1b[2Jb")


def test_a_remark_is_broken_between_words() -> None:
    """Further lines stand in a little; a path stays in one piece, so that it can be copied."""
    path = "/a/very-long/path-to/some/drive-folder"

    assert ["odovox: see `odovox log", f"  {path}`"] == wrapped(f"odovox: see `odovox log {path}`", 30)
    assert ["odovox: fits"] == wrapped("odovox: fits", 30)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_signals_end_a_drive(number: signal.Signals) -> None:
    """The first sets the event; afterwards, and for a second one, things are as they were before."""
    before = signal.getsignal(number)
    with stopping() as stop:
        assert not stop.is_set()
        os.kill(os.getpid(), number)
        assert stop.wait(1)
        assert before == signal.getsignal(number)
    assert before == signal.getsignal(number)


def test_what_was_ignored_stays_ignored() -> None:
    """As under nohup."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with stopping() as stop:
            os.kill(os.getpid(), signal.SIGHUP)
            assert not stop.wait(0.1)
    finally:
        signal.signal(signal.SIGHUP, before)


def test_the_cautions() -> None:
    """Set up parked, eyes on the road, local law, and running to empty."""
    text = " ".join(CAUTIONS)

    for words in ("while parked", "eyes on the road", "local law", "off busy roads with help at hand"):
        assert words in text
