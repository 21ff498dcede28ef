"""What a rehearsed drive is, and how it is kept: one JSON object a line, gzipped."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

Answers = tuple[tuple[str, float], ...]
"""One recogniser's list for one stretch of sound, best first: the words, and the natural-log score."""


@dataclass(frozen=True, slots=True)
class SaidReading:
    """What the driver truly said: the value as text ("63.0" stays), and why it breaks the ordinary course of a drive ("" where it does not)."""

    quantity: str
    value: str
    unit: str
    surprise: str = ""


@dataclass(frozen=True, slots=True)
class RehearsedCall:
    """One thing said, and what was heard.

    Attributes:
        at_s: when its first word was spoken, seconds on the drive clock.
        length_s: how long it took.
        text: the words.
        kind: "call", "correction", or the words of a command ("note charging", "strike that", ...).
        readings: what it means, in the order said; empty for a command.
        vosk, sphinx: the call model's and PocketSphinx's own lists; empty: no call was heard in it.
        open_words: PocketSphinx's one answer with its whole English vocabulary; None where it was not asked.
    """

    at_s: float
    length_s: float
    text: str
    kind: str
    readings: tuple[SaidReading, ...]
    vosk: Answers
    sphinx: Answers
    open_words: str | None = None


@dataclass(frozen=True, slots=True)
class RehearsedDrive:
    """One simulated drive as it was heard at one ratio of speech to noise.

    Attributes:
        name: unique within its set.
        group: "tuning" or "report".
        seed: what its car, track and times follow from.
        system: "miles" or "metric", the sheet's units.
        voice: who speaks.
        ratio_db: speech over cabin noise, broadband; None without noise.
        exception: what of life's exceptions was put into it; "" for none.
        calls: in the order said.
    """

    name: str
    group: str
    seed: int
    system: str
    voice: str
    ratio_db: float | None
    exception: str
    calls: tuple[RehearsedCall, ...]


def save(path: Path, drives: Iterable[RehearsedDrive]) -> None:
    """Write drives, one a line."""
    path.parent.mkdir(parents=True, exist_ok=True)
    # No time in the header: the same drives give the same file.
    with gzip.GzipFile(path, "wb", mtime=0) as file:
        for drive in drives:
            file.write((json.dumps(asdict(drive), separators=(",", ":")) + "\n").encode())


def load(path: Path) -> Iterator[RehearsedDrive]:
    """Read them one by one."""
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        for line in lines:
            kept = json.loads(line)
            calls = tuple(_call(each) for each in kept.pop("calls"))
            yield RehearsedDrive(calls=calls, **kept)


def _call(kept: dict[str, object]) -> RehearsedCall:
    readings = tuple(SaidReading(**each) for each in kept.pop("readings"))  # type: ignore[attr-defined]
    ears = {name: tuple((text, score) for text, score in kept.pop(name)) for name in ("vosk", "sphinx")}  # type: ignore[attr-defined]
    return RehearsedCall(readings=readings, **ears, **kept)  # type: ignore[arg-type]
