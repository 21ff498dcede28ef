"""What a check found: a state, a sentence, what to do about it, and the figures behind it. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType
from typing import TypeAlias

Figure: TypeAlias = float | int | bool | str | tuple[str, ...] | None


class Check(StrEnum):
    """All that is looked at, in the order in which it is told."""

    FOLDER = "folder"
    DISK = "disk"
    MICROPHONE = "microphone"
    LEVEL = "level"
    CLIPPING = "clipping"
    READBACK = "readback"
    RECOGNISER = "recogniser"
    VOCABULARY = "vocabulary"
    GPSD = "gpsd"
    FIX = "fix"
    CLOCK = "clock"


class State(StrEnum):
    """What a finding means for the drive."""

    OK = "ok"
    WARNING = "warning"
    """One can drive; what was found may cost something."""
    FAILED = "failed"
    """Part of what the drive is for would be lost."""
    UNTRIED = "untried"
    """It could not be looked at, because something else failed."""


@dataclass(frozen=True, slots=True)
class Finding:
    """What one check found."""

    check: Check
    state: State
    what: str
    """A sentence without its full stop."""
    todo: str = ""
    """What to do, for a person; "" where nothing is to be done."""
    figures: Mapping[str, Figure] = field(default_factory=lambda: MappingProxyType({}))


def is_fit(findings: Iterable[Finding]) -> bool:
    """Whether nothing failed and nothing went untried."""
    return all(finding.state in {State.OK, State.WARNING} for finding in findings)


def failed(check: Check, message: str, figures: Mapping[str, Figure] | None = None) -> Finding:
    """Return the finding that an error of ours means: its message says what, and after a semicolon what to do."""
    what, _, todo = message.partition("; ")
    return Finding(check, State.FAILED, what, todo, figures or {})


def untried(check: Check, because: Check) -> Finding:
    """Return the finding for what could not be looked at."""
    return Finding(check, State.UNTRIED, "not tried", f"put {because.value} right first")
