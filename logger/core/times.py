"""How times are written for people: time since the drive began, and time of day."""

from __future__ import annotations

from decimal import Decimal


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
