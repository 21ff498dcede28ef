"""What is said on stderr."""

from __future__ import annotations

import pytest

from logger.cli.talk import Teller, one_line, progress_text, summary_text
from logger.model import Issue, Status
from logger.wiring.ingest import Progress
from logger.wiring.reconciling import Summary


def test_a_line_is_one_line() -> None:
    """Line breaks become spaces, and what could steer a terminal a question mark."""
    assert "a b ?[2Jc é" == one_line("a\n  b \x1b[2Jc é")


def test_progress_says_share_calls_and_speed() -> None:
    """Share, time read, calls and speed; no share where the length is not known, no speed at first."""
    assert "25% a.wav: 1:30 read, 3 calls, 45 x as fast as heard" == progress_text(
        Progress("a.wav", 90.0, 360.0, 3), 2.0
    )
    assert "a.wav: 0:02 read, 0 calls" == progress_text(Progress("a.wav", 2.0, None, 0), 0.5)


def test_a_summary_counts() -> None:
    """Calls, entries by status, and where to look."""
    assert "d: 2 calls, 4 entries (3 accepted, 1 flagged); see `odovox log d`" == summary_text(
        Summary(2, {Status.FLAGGED: 1, Status.ACCEPTED: 3}, ()), "d"
    )
    assert "d: 0 calls, no entries; see `odovox log d`" == summary_text(Summary(0, {}, ()), "d")


def test_without_a_terminal_progress_is_seldom(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Elsewhere than on a terminal a line comes every ten seconds, not with every second of sound."""
    now = [0.0]
    monkeypatch.setattr("time.monotonic", lambda: now[0])
    teller = Teller()
    for second in range(25):
        now[0] = float(second)
        teller.progress(Progress("a.wav", second * 10.0, 250.0, second))
    teller.odd(Issue("x", "odd"))

    lines = capsys.readouterr().err.splitlines()
    assert 3 == len(lines)
    assert "odovox: 40% a.wav: 1:40 read, 10 calls, 10 x as fast as heard" == lines[0]
    assert "odovox: note: odd" == lines[-1]


def test_on_a_terminal_progress_is_one_line_that_changes(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a terminal the line is written over, and wiped before anything else is said."""
    now = [0.0]
    monkeypatch.setattr("time.monotonic", lambda: now[0])
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    teller = Teller()
    for second in (1, 2):
        now[0] = float(second)
        teller.progress(Progress("a.wav", second * 10.0, 100.0, 0))
    teller.remark("done")

    written = capsys.readouterr().err
    assert 1 == written.count("\n")
    assert written.startswith("\r10% a.wav")
    assert written.endswith("\rodovox: done\n")
