"""How what a check found is told: in lines for a person, or as one JSON object; docs/live.md says what its members mean."""

from __future__ import annotations

import json
import math
import sys
import time
from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from logger.cli.talk import one_line, say
from logger.core.fitness.findings import Check, State, is_fit
from logger.core.levels import meter_text

if TYPE_CHECKING:
    from logger.core.fitness.findings import Finding

CAUTION = "set up while parked; eyes on the road, nothing on a screen is needed while driving; local law comes first"

_METER_PLAIN_S = 1.0
_WORDS = {State.OK: "ok", State.WARNING: "warning", State.FAILED: "FAILED", State.UNTRIED: "untried"}
_NAMES = {Check.READBACK: "read-back"}
_NAME_WIDTH = 10


class CheckTeller:
    """Tells on stderr what is done: on a terminal in one line that changes, elsewhere in lines now and then."""

    def __init__(self) -> None:
        self._terminal = sys.stderr is not None and sys.stderr.isatty()
        self._shown = 0
        self._told_s = 0.0

    def doing(self, text: str) -> None:
        """Say what is done just now."""
        if self._terminal and not text.startswith("listening"):
            self._show(f"{text} ...")
        else:
            self.clear()
            say(text)

    def level(self, level_dbfs: float, held_dbfs: float, left_s: float) -> None:
        """Show the level as a bar."""
        text = f"{meter_text(level_dbfs, held_dbfs)}, {math.ceil(left_s)} s left"
        if self._terminal:
            self._show(text)
        elif time.monotonic() - self._told_s >= _METER_PLAIN_S:
            self._told_s = time.monotonic()
            say(text)

    def clear(self) -> None:
        """Wipe the line that changes."""
        if self._shown:
            click.echo("\r" + " " * self._shown + "\r", nl=False, err=True)
            self._shown = 0

    def _show(self, text: str) -> None:
        line = one_line(text)[:100]
        click.echo("\r" + line.ljust(self._shown), nl=False, err=True)
        self._shown = max(self._shown, len(line))


def finding_line(finding: Finding) -> str:
    """Return a finding as one line."""
    name = _NAMES.get(finding.check, finding.check.value)
    text = f"{finding.what}; {finding.todo}" if finding.todo else finding.what
    return f"{_WORDS[finding.state]:7}  {name:{_NAME_WIDTH}}  {one_line(text)}"


def verdict_text(findings: Sequence[Finding]) -> str:
    """Return what all findings come to, in one line."""
    warnings = sum(finding.state is State.WARNING for finding in findings)
    failed = [
        _NAMES.get(finding.check, finding.check.value)
        for finding in findings
        if finding.state is State.FAILED
    ]
    beside = f"{warnings} warning{'' if warnings == 1 else 's'}" if warnings else "no warnings"
    if is_fit(findings):
        return f"fit for a drive, {beside}"
    return f"NOT fit for a drive, {beside}; put right: {', '.join(failed)}"


def findings_json(findings: Sequence[Finding]) -> str:
    """Return all findings as one line of JSON (RFC 8259)."""
    return json.dumps(
        {
            "fit": is_fit(findings),
            "warnings": sum(finding.state is State.WARNING for finding in findings),
            "failures": sum(finding.state is State.FAILED for finding in findings),
            "checks": {
                finding.check.value: {
                    "state": finding.state.value,
                    "what": finding.what,
                    "todo": finding.todo or None,
                    "figures": dict(finding.figures),
                }
                for finding in findings
            },
        },
        ensure_ascii=False,
        allow_nan=False,
    )
