"""What is to be recorded, what the threads tell each other, and who is told how it goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from queue import SimpleQueue
from typing import Literal, Protocol, TypeAlias

from logger.core.live_cut import HeardCut
from logger.core.live_view import LiveState
from logger.core.verdicts import Verdict
from logger.errors import OdovoxError
from logger.model import Entry, LiveFix, ReceptionChange
from logger.receivers.gpsd import GpsdAddress
from logger.wiring.choosing import Choice

Readback = Literal["tone", "voice", "off"]
Keep = Literal["all", "calls"]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be recorded."""

    out: Path
    sheet_path: Path | None
    microphone: str | None
    gpsd: GpsdAddress
    receiver_delay_s: float
    recogniser: Choice
    model: Path | None
    readback: Readback
    keep: Keep


@dataclass(frozen=True, slots=True)
class Opened:
    """A microphone was opened; its sound waits until `reply` has the number of its source, or what is wrong."""

    name: str
    start_mono_ns: int
    reply: SimpleQueue[int | OdovoxError] = field(default_factory=SimpleQueue)


@dataclass(frozen=True, slots=True)
class Ended:
    """No more comes from a source, which had so many samples."""

    source_id: int
    sample_count: int


@dataclass(frozen=True, slots=True)
class Heard:
    """A recogniser has heard a cut of a source. `without_sound` where the cut's sound had to be let go of since."""

    source_id: int
    what: HeardCut
    without_sound: bool = False


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something is wrong from now on (`text`), or has been put right (`text` says so, `over`). `what` names the part."""

    what: Literal["microphone", "sound", "recogniser", "store", "read-back"]
    text: str
    over: bool = False


@dataclass(frozen=True, slots=True)
class Drained:
    """Nothing more will be heard: all that was captured has been recognised."""


News: TypeAlias = Opened | Ended | Heard | Trouble | Drained | LiveFix | ReceptionChange


class Told(Protocol):
    """Who is told how the drive goes."""

    def remark(self, text: str) -> None:
        """Take one line on something that happened."""
        ...

    def heard(self, entries: Sequence[Entry], verdict: Verdict) -> None:
        """Take what became of a call."""
        ...

    def show(self, state: LiveState) -> None:
        """Take how the drive stands; called about once a second."""
        ...
