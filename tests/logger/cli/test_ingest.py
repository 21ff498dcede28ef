"""`odovox ingest`: its options reach the job; the job itself is tested in wiring and acceptance."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from logger.cli.options import RECOGNISERS
from logger.model import Status
from logger.wiring.choosing import CHOICES
from logger.wiring.reconciling import Summary


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[tuple[Any, ...], dict[str, Any]]]:
    """Replace the job by one that keeps what it was asked and finds one reading, in doubt."""
    calls: list[tuple[tuple[Any, ...], dict[str, Any]]] = []

    def job(*arguments: Any, **named: Any) -> Summary:
        calls.append((arguments, named))
        return Summary(1, {Status.FLAGGED if len(calls) == 1 else Status.ACCEPTED: 1}, ())

    monkeypatch.setattr("logger.wiring.ingest.ingest", job)
    return calls


def test_options_reach_the_job(
    invoke: Callable[..., Result], asked: list[tuple[tuple[Any, ...], dict[str, Any]]]
) -> None:
    """Sounds, tracks, starts, sheet and folder are passed on; 1 for a doubt, 0 without."""
    command = (
        "ingest",
        "a.wav",
        "b.wav",
        "--track",
        "t.gpx",
        "--track",
        "u.nmea",
        "--sheet",
        "s.toml",
        "-o",
        "d",
    )
    starts = ("--started", "1970-01-01T00:00:01Z", "--started", "1970-01-01T01:00:02+01:00")

    assert 1 == invoke(*command, *starts).exit_code
    assert 0 == invoke(*command, *starts).exit_code

    (folder, sounds, tracks), named = asked[0]
    assert Path("d") == folder
    assert (Path("a.wav"), Path("b.wav")) == sounds
    assert (Path("t.gpx"), Path("u.nmea")) == tracks
    assert (1_000_000_000, 2_000_000_000) == named["started_utc_ns"]
    assert Path("s.toml") == named["sheet_path"]


def test_the_choices_are_the_wirings() -> None:
    """The names offered are those that can be chosen; they are written twice so that help stays quick."""
    assert CHOICES == RECOGNISERS
