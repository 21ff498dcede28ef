"""What is to be checked, and who is told how it goes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from grammar import Language
from logger.receivers.gpsd import GpsdAddress
from logger.wiring.choosing import Choice

Readback = Literal["tone", "voice", "off"]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be checked."""

    language: Language
    microphone: str | None
    gpsd: GpsdAddress
    out: Path
    hours: float
    recogniser: Choice
    model: Path | None
    readback: Readback
    listen_s: float


class Told(Protocol):
    """Who is told how the check goes."""

    def doing(self, text: str) -> None:
        """Take what is done just now."""
        ...

    def level(self, level_dbfs: float, held_dbfs: float, left_s: float) -> None:
        """Take the level of the last moment, the loudest of late, and how long the listening still lasts."""
        ...
