"""Sound without a single call in it: read books, talk full of numbers, music, and the cabin alone.

Whatever odovox enters after hearing it is a false entry. Each kind is one continuous sound from a seed, in two groups
that share no voice, no text, no piece of music and no seed: settings are chosen on "tuning", figures come from
"report". `python -m other_sound.collecting` makes the sound and keeps what both recognisers say to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from speechkit.voices import REPORT, TUNING, Voice

KINDS = ("books", "numbers", "music", "noise")
FOLDER = Path(__file__).resolve().parents[3] / "build" / "other_sound"

SPEECH_DB = 10.0
"""Speech over steady cabin noise, broadband."""
MUSIC_DB = (0.0, 10.0)
"""Music over steady cabin noise, broadband: each piece somewhere between."""
SPEECH_LEVEL = 1000.0
"""Active level of speech, as in `speechkit.drive`; the noise of every kind is that of speech at `SPEECH_DB`."""


@dataclass(frozen=True, slots=True)
class Group:
    """Who speaks, how long each kind is, and what its randomness starts from."""

    name: str
    voices: tuple[Voice, ...]
    length_s: float
    seed: int


GROUPS = {
    "tuning": Group("tuning", TUNING, 1200.0, 61_000),
    "report": Group("report", REPORT, 3600.0, 62_000),
}


@dataclass(frozen=True, slots=True)
class Placed:
    """Words and the samples in which they are said or sung."""

    first_sample: int
    end_sample: int
    text: str
