"""The records everything else speaks in: frozen, slotted, with the unit in each field's name.

Two clocks appear. `utc_ns` is nanoseconds since 1970-01-01T00:00:00Z without leap seconds, as receivers
report it. `..._ns` without `utc` is the drive clock: nanoseconds since the drive began. The drive's row
holds the one number that joins them (`Drive.began_utc_ns`). Live, a third one: `..._mono_ns` is this machine's monotonic
clock, which nobody sets.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:  # numpy takes longer to import than the command line may take to answer --help
    import numpy as np
    from numpy.typing import NDArray

RATE_HZ = 16_000
"""The one sampling rate inside odovox: what both recognisers' models expect."""

Samples: TypeAlias = "NDArray[np.int16]"
"""Mono sound at `RATE_HZ`, shape (n,)."""


@dataclass(frozen=True, slots=True)
class SoundBlock:
    """A piece of one sound source: `samples` begin at sample number `first_sample` of the source."""

    first_sample: int
    samples: Samples


@dataclass(frozen=True, slots=True)
class CapturedBlock:
    """A piece of what a microphone hears: `samples` begin at sample number `first_sample` since it was opened.

    `start_mono_ns` is when the first of them was heard. `lost_samples` were heard between the block before and this one and
    never came, as far as the clock tells; `first_sample` does not count them.
    """

    first_sample: int
    samples: Samples
    start_mono_ns: int
    lost_samples: int = 0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of sound in which somebody seems to speak, cut out by the segmenter."""

    first_sample: int
    samples: Samples


@dataclass(frozen=True, slots=True)
class Source:
    """A sound file that was taken in: its content hash, when its first sample was heard, how far it was read."""

    id: int
    name: str
    sha256: str
    start_ns: int
    sample_count: int | None
    """Total samples at `RATE_HZ`; None until the file has been taken in to its end."""


@dataclass(frozen=True, slots=True)
class Utterance:
    """A stored stretch: where it lies in its source and on the drive clock, and its kept sound."""

    id: int
    source_id: int
    first_sample: int
    sample_count: int
    start_ns: int
    clip: str
    """Path of the FLAC clip, relative to the drive folder, with forward slashes."""


@dataclass(frozen=True, slots=True)
class HeardWord:
    """One word of a hypothesis; times are nanoseconds after the stretch began, None where not known."""

    text: str
    start_ns: int | None = None
    end_ns: int | None = None
    confidence: float | None = None


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One answer of a recogniser for one stretch.

    `rank` 0 is its first answer. `score` is a natural-log score, comparable only within one stretch
    (higher is better), None where the recogniser gives none. Where several recognisers were joined,
    `ear_scores` has each one's own score below its best answer, in the order of the recogniser's name: 0 in
    all answers where it heard nothing. Empty where one listened alone.
    """

    rank: int
    words: tuple[HeardWord, ...]
    score: float | None = None
    ear_scores: tuple[float, ...] = ()

    @property
    def text(self) -> str:
        """The words joined by single spaces."""
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True, slots=True)
class Recognition:
    """Everything one recogniser said about one utterance; an empty `hypotheses` means: no call in it."""

    utterance_id: int
    recogniser: str
    hypotheses: tuple[Hypothesis, ...]


@dataclass(frozen=True, slots=True)
class Fix:
    """One position report. Absent values are None, never zero."""

    utc_ns: int
    lat_deg: float
    lon_deg: float
    altitude_m: float | None = None
    speed_mps: float | None = None
    hdop: float | None = None


@dataclass(frozen=True, slots=True)
class LiveFix:
    """A position report as it came from a receiver.

    `mode` is 2 (no altitude) or 3. The errors are the receiver's or gpsd's own estimates at 95 %, None where it makes none:
    `eph_m` across the ground, `epx_m` east-west, `epy_m` north-south. `arrived_utc_ns` is this machine's wall clock at
    the same moment as `arrived_mono_ns`: what it differs from `fix.utc_ns` is the clock's error and the report's delay.
    """

    fix: Fix
    mode: int
    eph_m: float | None
    epx_m: float | None
    epy_m: float | None
    arrived_mono_ns: int
    arrived_utc_ns: int


class Reception(StrEnum):
    """What can be said of the receiver just now, the worst first."""

    UNREACHABLE = "unreachable"
    """Nobody answers, or what answers is no gpsd."""
    NO_DEVICE = "no_device"
    """gpsd runs and has no receiver."""
    SILENT = "silent"
    """The receiver is there, and nothing has come from it yet, or for some seconds."""
    NO_FIX = "no_fix"
    """The receiver reports, and does not know where it is."""
    FIX_2D = "fix_2d"
    FIX_3D = "fix_3d"


@dataclass(frozen=True, slots=True)
class ReceptionChange:
    """From a moment on something else is to be said of the receiver; `detail` is one line for a person."""

    reception: Reception
    detail: str
    at_mono_ns: int


@dataclass(frozen=True, slots=True)
class Issue:
    """Something odd in the data that a person may want to know; never a reason to stop."""

    code: str
    message: str


@dataclass(frozen=True, slots=True)
class TrackFile:
    """What a track file held: its fixes in the order written, and what was odd about it."""

    fixes: tuple[Fix, ...]
    issues: tuple[Issue, ...]


@dataclass(frozen=True, slots=True)
class Place:
    """Where the car was at an instant.

    `distance_m` is the driven GPS distance since the track began. `gap_s` is the time between the two
    fixes the place was interpolated from: a large one means that nobody was measuring.
    """

    lat_deg: float
    lon_deg: float
    distance_m: float
    speed_mps: float | None
    gap_s: float


class Status(StrEnum):
    """What is known of an entry's value."""

    ACCEPTED = "accepted"
    FLAGGED = "flagged"
    CORRECTED = "corrected"
    REJECTED = "rejected"


class Origin(StrEnum):
    """Where an entry's value comes from."""

    HEARD = "heard"
    """The recogniser's first answer."""
    REPAIRED = "repaired"
    """Another answer of the recogniser, preferred because the drive allows it and not the first."""
    SPOKEN_CORRECTION = "spoken_correction"
    """The driver said a correction during the drive."""
    TYPED = "typed"
    """A person typed it after the drive."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another value an entry may have had, and how well it does."""

    value: Decimal
    unit: str
    heard: str
    confidence: float


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of the log: a reading, a note or a question; derived from facts, made anew by each reconcile."""

    id: str
    utterance_id: int
    at_ns: int
    """When the first word of this reading was spoken, on the drive clock."""
    quantity: str
    """A quantity's name, or `note` for a note, or `unheard` for a call that no meaning could be given to."""
    value: Decimal | None
    unit: str
    status: Status
    confidence: float
    origin: Origin
    heard: str
    note: str
    reason: str
    alternatives: tuple[Alternative, ...] = ()


@dataclass(frozen=True, slots=True)
class Drive:
    """The one row about the drive itself."""

    began_utc_ns: int
    sheet_toml: str
    """The sheet as it was given, "" for the default sheet."""


class Action(StrEnum):
    """What a person did about an entry."""

    ACCEPT = "accept"
    REPLACE = "replace"
    REJECT = "reject"
    ADD = "add"
    WITHDRAW = "withdraw"
    """Undo: an earlier decision counts no more."""


@dataclass(frozen=True, slots=True)
class Before:
    """What an entry was when a person decided about it."""

    status: Status
    quantity: str
    value: Decimal | None
    unit: str
    note: str


@dataclass(frozen=True, slots=True)
class Decision:
    """What a person decided after the drive; never altered, only followed by a newer one about the same entry."""

    id: int
    """Ascending in the order decided; 0 before it is stored."""
    at_utc_ns: int
    who: str
    action: Action
    entry_id: str
    """The entry decided about; "" for `ADD`, which makes a new one. For `WITHDRAW` the one that the withdrawn was about."""
    quantity: str
    value: Decimal | None
    unit: str
    at_ns: int | None
    """For `ADD`: when it was read off, on the drive clock; None otherwise."""
    why: str
    note: str = ""
    """What a note says from now on; "" for readings."""
    words: str = ""
    """What was typed, as it was typed; "" where nothing was."""
    was: Before | None = None
    """What the entry was; None for `ADD`, and where an older odovox wrote it."""
    withdraws: int | None = None
    """For `WITHDRAW`: the id of the decision that counts no more."""
