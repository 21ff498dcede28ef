"""Instants as text: RFC 3339 to and from nanoseconds of UTC. Pure.

Grammar: RFC 3339 section 5.6 (`date-time`), whose letters may be lower case and whose note allows a space for
the `T`. A leap second (section 5.7, `23:59:60` UTC at the end of a month) means the second after it, since
`utc_ns` counts no leap seconds.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

_DATE_TIME = re.compile(
    r"(?P<year>\d{4})-(?P<month>\d\d)-(?P<day>\d\d)[Tt ](?P<hour>\d\d):(?P<minute>\d\d):(?P<second>\d\d)"
    r"(?:\.(?P<fraction>\d+))?(?P<zone>[Zz]|(?P<sign>[+-])(?P<zone_hour>\d\d):(?P<zone_minute>\d\d))?",
    re.ASCII,
)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def parse_utc_ns(text: str) -> int:
    """Return the instant that an RFC 3339 text names, in nanoseconds since 1970-01-01T00:00:00Z.

    Digits beyond the ninth of a fraction are dropped.

    Raises:
        ValueError: the text is no RFC 3339 date and time, or has no zone; the message says which.
    """
    found = _DATE_TIME.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r} is not a date and time; write it like 2026-05-03T09:12:00Z")
    if found["zone"] is None:
        raise ValueError(f"{text!r} has no zone; add Z for UTC, or an offset such as +02:00")
    whole = int(found["second"])
    leaps = whole == 60
    offset = timedelta(0)
    if found["sign"]:
        if int(found["zone_hour"]) > 23 or int(found["zone_minute"]) > 59:
            raise ValueError(f"{text!r} has a zone that does not exist; offsets run from -23:59 to +23:59")
        offset = timedelta(hours=int(found["zone_hour"]), minutes=int(found["zone_minute"]))
        offset = -offset if found["sign"] == "-" else offset
    year, month, day, hour, minute = (int(found[part]) for part in ("year", "month", "day", "hour", "minute"))
    try:
        local = datetime(year, month, day, hour, minute, 59 if leaps else whole, tzinfo=UTC)
        instant = local - offset
        if leaps:
            instant += timedelta(seconds=1)
    except (ValueError, OverflowError) as error:
        raise ValueError(f"{text!r} names no date and time that exists") from error
    if leaps and (instant.day, instant.hour, instant.minute, instant.second) != (1, 0, 0, 0):
        raise ValueError(f"{text!r} has second 60, which only the last minute of a month (UTC) can have")
    fraction_ns = int((found["fraction"] or "")[:9].ljust(9, "0"))
    return (instant - _EPOCH) // timedelta(seconds=1) * 1_000_000_000 + fraction_ns


def format_utc(utc_ns: int) -> str:
    """Return an instant as RFC 3339 text in UTC, rounded to milliseconds: `2026-05-03T09:12:00.250Z`.

    Raises:
        ValueError: the instant lies outside the years 1 to 9999.
    """
    milliseconds = (utc_ns + 500_000) // 1_000_000
    try:
        instant = _EPOCH + timedelta(milliseconds=milliseconds)
    except OverflowError as error:
        raise ValueError(f"{utc_ns} ns lies outside the years 1 to 9999") from error
    return instant.replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"
