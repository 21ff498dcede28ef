"""`odovox demo`: a sample is shown, or one clear line says why not; the whole way is in tests/logger/wiring/test_demo.py."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from heard import Counting
from short_drives import make

from logger.cli import demo as _module  # noqa: F401


def test_no_sample_is_one_line(invoke: Callable[..., Result], tmp_path: Path) -> None:
    """Where there is no sample, nothing is made."""
    result = invoke("demo", tmp_path / "drive", "--samples", tmp_path)

    assert 2 == result.exit_code
    assert result.stderr.startswith("odovox: error: no sample drive in ")
    assert not (tmp_path / "drive").exists()


def test_the_log_and_the_doubts_are_shown(
    invoke: Callable[..., Result], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Table and doubts go to stdout, the rest to stderr, and the exit code is 0 with entries in doubt."""
    (tmp_path / "samples").mkdir()
    made = make(tmp_path / "samples")
    made.track.rename(made.track.with_name("track.gpx"))
    said = [
        "checkpoint ninety nine percent",
        "checkpoint sixty four percent",
        "checkpoint ninety seven percent",
    ]
    monkeypatch.setattr("logger.wiring.demo._listen", Counting(said).choose)

    result = invoke("demo", tmp_path / "drive", "--samples", tmp_path / "samples")

    assert 0 == result.exit_code, result.stderr
    assert result.stdout.startswith("entry ")
    assert "In doubt: " in result.stdout
    assert "3 calls" in result.stderr
    assert result.stderr.endswith(f"what it came to: `odovox report {tmp_path / 'drive'} -o report.html`\n")
