"""How times are written for people: time since the drive began, and time of day."""

from __future__ import annotations

import re
from decimal import Decimal

_ELAPSED = re.compile(r"(?:(\d{1,4}):)?(\d{1,2}):(\d\d(?:\.\d{1,9})?)", re.ASCII)


def elapsed_text(seconds: float | Decimal) -> str:
    """Return whole seconds as H:MM:SS, with a minus sign before the drive began.

    >>> elapsed_text(3725.2)
    '1:02:05'
    """
    whole = round(seconds)
    sign, whole = ("-", -whole) if whole < 0 else ("", whole)
    return f"{sign}{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def time_of_day_text(minutes: Decimal) -> str:
    """Return minutes after midnight as HH:MM.

    >>> time_of_day_text(Decimal(460))
    '07:40'
    """
    hours, rest = divmod(int(minutes), 60)
    return f"{hours:02d}:{rest:02d}"


def parse_elapsed_ns(text: str) -> int:
    """Return the time of the drive clock that H:MM:SS, with or without a fraction, tells in nanoseconds.

    Raises:
        ValueError: it is no such time; the message says how one is written.

    >>> parse_elapsed_ns("1:02:05.5")
    3725500000000
    """
    found = _ELAPSED.fullmatch(text.strip())
    if found is None or int(found[2]) > 59 or Decimal(found[3]) >= 60:
        raise ValueError("a time of the drive is written like 1:02:05, or 1:02:05.5")
    hours, minutes, seconds = int(found[1] or 0), int(found[2]), Decimal(found[3])
    return int((Decimal(hours * 3600 + minutes * 60) + seconds) * 1_000_000_000)
