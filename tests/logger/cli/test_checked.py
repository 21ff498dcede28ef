"""How findings are told: one line each, a verdict, JSON; and what is told meanwhile."""

from __future__ import annotations

import json

import pytest

from logger.cli.checked import CheckTeller, finding_line, findings_json, verdict_text
from logger.core.fitness.findings import Check, Finding, State, failed, untried

OK = Finding(Check.LEVEL, State.OK, "noise -50 dBFS", "", {"noise_dbfs": -50.0})
WARNING = Finding(Check.READBACK, State.WARNING, "not heard", "turn it up")
FAILED = failed(Check.GPSD, "nobody answers; start it")
UNTRIED = untried(Check.FIX, Check.GPSD)


@pytest.mark.parametrize(
    ("finding", "expected"),
    [
        (OK, "ok       level       noise -50 dBFS"),
        (WARNING, "warning  read-back   not heard; turn it up"),
        (FAILED, "FAILED   gpsd        nobody answers; start it"),
        (UNTRIED, "untried  fix         not tried; put gpsd right first"),
        (failed(Check.GPSD, "a\nb\x1b[2J; c"), "FAILED   gpsd        a b?[2J; c"),
    ],
)
def test_a_finding_is_one_line(finding: Finding, expected: str) -> None:
    """State, name and sentence in columns; nothing from outside breaks the line or steers the terminal."""
    assert expected == finding_line(finding)


@pytest.mark.parametrize(
    ("findings", "expected"),
    [
        ([OK], "fit for a drive, no warnings"),
        ([OK, WARNING], "fit for a drive, 1 warning"),
        ([OK, WARNING, WARNING], "fit for a drive, 2 warnings"),
        ([WARNING, FAILED, UNTRIED], "NOT fit for a drive, 1 warning; put right: gpsd"),
        (
            [failed(Check.READBACK, ""), FAILED],
            "NOT fit for a drive, no warnings; put right: read-back, gpsd",
        ),
    ],
)
def test_the_verdict(findings: list[Finding], expected: str) -> None:
    """Whether to drive, in one line; what failed is named, what hangs on it is not."""
    assert expected == verdict_text(findings)


def test_json() -> None:
    """One line, numbers as numbers, null where there is nothing to do."""
    text = findings_json([OK, FAILED, UNTRIED])
    told = json.loads(text)

    assert "\n" not in text
    assert (False, 0, 1) == (told["fit"], told["warnings"], told["failures"])
    assert told["checks"]["level"] == {
        "state": "ok",
        "what": "noise -50 dBFS",
        "todo": None,
        "figures": {"noise_dbfs": -50.0},
    }
    assert "start it" == told["checks"]["gpsd"]["todo"]


def test_where_nothing_can_be_written_over_the_meter_is_a_line_a_second(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Ten levels in a moment are one line, without carriage returns."""
    teller = CheckTeller()
    for _ in range(10):
        teller.level(-30.0, -12.0, 3.0)
    teller.clear()

    assert "odovox: [###############--------|------] -30 dBFS, 3 s left\n" == capsys.readouterr().err


def test_on_a_terminal_it_is_one_line_that_changes(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each level overwrites the one before, and the line is wiped for what comes next."""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    teller = CheckTeller()
    teller.level(-30.0, -12.0, 3.0)
    teller.level(-9.0, -9.0, 2.0)
    teller.doing("loading")
    teller.clear()
    said = capsys.readouterr().err

    assert "\n" not in said
    last = said.split("\r")[-3:]
    assert last[0].startswith("loading ...")
    assert last[1].strip() == ""
    assert len(last[0]) == len(last[1])
    assert last[2] == ""
