"""Judging the room for a drive. Pure."""

from __future__ import annotations

from logger.core.fitness.findings import Check, Finding, State
from logger.model import RATE_HZ

FLAC_BYTES_A_HOUR = 62e6
"""Measured on the sample drive (calls and talk in cabin noise, 28 min) as FLAC: 61.3 to 62.5 MB an hour by level of
compression, 53 % of what goes in."""
MOST_BYTES_A_HOUR = RATE_HZ * 2 * 3600.0
"""Sound that cannot be packed at all: 115 MB an hour."""
BESIDE_BYTES = 100e6
"""The database, clips, and something to spare."""


def judge_disk(free_bytes: int, hours: float) -> Finding:
    """Judge whether the sound of a whole drive has room."""
    usual = hours * FLAC_BYTES_A_HOUR + BESIDE_BYTES
    most = hours * MOST_BYTES_A_HOUR + BESIDE_BYTES
    figures = {
        "free_bytes": free_bytes,
        "hours": hours,
        "usual_bytes": round(usual),
        "most_bytes": round(most),
    }
    what = f"{_size(free_bytes)} free; {hours:g} h of sound take about {_size(usual)}, {_size(most)} at most"
    if free_bytes >= most:
        return Finding(Check.DISK, State.OK, what, "", figures)
    state = State.WARNING if free_bytes >= usual else State.FAILED
    return Finding(Check.DISK, state, what, "free some space, or name another disk with --out", figures)


def _size(count: float) -> str:
    """Return bytes in decimal units, as disks are sold.

    >>> _size(1_234_567_890), _size(56_700_000)
    ('1.2 GB', '57 MB')
    """
    return f"{count / 1e9:.1f} GB" if count >= 1e9 else f"{count / 1e6:.0f} MB"
