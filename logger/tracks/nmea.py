"""NMEA 0183 logs, by pynmea2: RMC and GGA of one instant make one fix.

RMC carries date, time, position and speed; GGA time, position, altitude and HDOP; ZDA the date too. Any talker
(GP, GN, GL, ...) will do. Text before a sentence's `$` (time stamps of a terminal, tag blocks) is passed over.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from logger.core.fixes import counted, on_earth
from logger.errors import TrackError
from logger.model import Fix, Issue, TrackFile
from logger.tracks.opening import decoded, finite, read_bytes, track_file

KNOT_MPS = 1852.0 / 3600.0
"""One international knot: 1852 m an hour, exactly."""

_DAY_NS = 86_400_000_000_000
_TIME = re.compile(r"(\d\d)(\d\d)(\d\d)(?:\.(\d*))?", re.ASCII)


@dataclass(slots=True)
class _Epoch:
    """What the sentences of one instant said; `day_ns` is its time of day in nanoseconds."""

    day_ns: int
    date: date | None = None
    no_fix: bool = False
    lat_deg: float | None = None
    lon_deg: float | None = None
    altitude_m: float | None = None
    speed_mps: float | None = None
    hdop: float | None = None


class _Tally:
    """How many sentences could not be used, and in which line the first was."""

    def __init__(self) -> None:
        self.count = 0
        self.first_line = 0

    def add(self, line: int) -> None:
        """Count one."""
        self.first_line = self.first_line or line
        self.count += 1


def read_nmea(path: Path) -> TrackFile:
    """Read the fixes of an NMEA 0183 log. Sentences with a wrong or missing checksum are counted and left out.

    A date holds from the sentence that said it until the next one, and moves on when the time of day passes
    midnight. An instant that RMC (status V) or GGA (quality 0) calls invalid is no fix.

    Raises:
        TrackError: the file cannot be read, is no NMEA, never says a date, or has no usable fix.
    """
    lines = decoded(read_bytes(path)).splitlines()
    bad, broken = _Tally(), _Tally()
    epochs, sentences = _epochs(lines, bad, broken)
    if not sentences:
        why = f" (none of {bad.count} sentences has a right checksum)" if bad.count else ""
        raise TrackError(f"{path}: is not an NMEA 0183 log{why}; give a GPX, NMEA or CSV track")
    issues = []
    if bad.count:
        what = counted(bad.count, "sentence has", "sentences have")
        message = f"{what} a wrong or missing checksum, first in line {bad.first_line}; left out"
        issues.append(Issue("track_bad_checksum", message))
    if broken.count:
        what = counted(broken.count, "sentence", "sentences")
        message = f"{what} could not be read, first in line {broken.first_line}; left out"
        issues.append(Issue("track_bad_sentence", message))
    if any(epoch.lat_deg is not None for epoch in epochs) and not any(epoch.date for epoch in epochs):
        raise TrackError(f"{path}: has times but no date; record RMC or ZDA sentences too")
    fixes = _dated(epochs, issues)
    return track_file(path, fixes, issues)


def _epochs(lines: list[str], bad: _Tally, broken: _Tally) -> tuple[list[_Epoch], int]:
    """Return the instants that RMC, GGA and ZDA speak of, in file order, and how many sentences were sound."""
    import pynmea2

    epochs: list[_Epoch] = []
    sentences = 0
    for number, line in enumerate(lines, start=1):
        _, dollar, body = line.partition("$")
        if not dollar or body.startswith("P"):  # proprietary sentences are not for us
            continue
        try:
            sentence = pynmea2.parse(dollar + body, check=True)
        except pynmea2.SentenceTypeError:
            sentences += 1
            continue
        except pynmea2.ParseError:
            bad.add(number)
            continue
        sentences += 1
        kind = getattr(sentence, "sentence_type", "")
        if kind not in {"RMC", "GGA", "ZDA"}:
            continue
        try:
            _join(epochs, sentence, kind)
        except (ValueError, TypeError):  # pynmea2 hands on a malformed field as its text
            broken.add(number)
    return epochs, sentences


def _join(epochs: list[_Epoch], sentence: Any, kind: str) -> None:
    """Add what a sentence says to its instant: the newest one if the time is the same, else a new one.

    Raises:
        ValueError: a field that must be there is not what the standard says.
    """
    # The raw text: pynmea2 turns it into whole microseconds by way of a float, and knows no second 60.
    day_ns = _day_ns(sentence.data[0])
    if day_ns is None:
        return
    epoch = _Epoch(day_ns)
    joins = bool(epochs) and epochs[-1].day_ns == day_ns
    if joins:
        epoch = epochs[-1]
    if kind == "ZDA":
        epoch.date = date(sentence.year, sentence.month, sentence.day) if sentence.data[3] else epoch.date
    elif kind == "RMC":
        _join_rmc(epoch, sentence)
    else:
        _join_gga(epoch, sentence)
    if not joins:
        epochs.append(epoch)


def _join_rmc(epoch: _Epoch, sentence: Any) -> None:
    """Take date, position and speed from RMC."""
    # Not pynmea2's is_valid: it also asks for a navigational status that many receivers never give.
    if sentence.status != "A" or (len(sentence.data) > 11 and sentence.mode_indicator == "N"):
        epoch.no_fix = True
        return  # its date may be the clock's guess too
    said = sentence.datestamp  # parsed anew each time it is asked for, and as text where it cannot be
    if said and not isinstance(said, date):
        raise ValueError("no date")
    epoch.date = said or epoch.date
    if epoch.no_fix:
        return
    epoch.lat_deg, epoch.lon_deg = _position(sentence)
    speed_kn = _number(sentence.spd_over_grnd)
    epoch.speed_mps = None if speed_kn is None or speed_kn < 0.0 else speed_kn * KNOT_MPS


def _join_gga(epoch: _Epoch, sentence: Any) -> None:
    """Take position, altitude and HDOP from GGA."""
    if not sentence.gps_qual:
        epoch.no_fix = True
        return
    if epoch.lat_deg is None:
        epoch.lat_deg, epoch.lon_deg = _position(sentence)
    epoch.altitude_m = _number(sentence.altitude) if sentence.altitude_units in {"M", ""} else None
    epoch.hdop = _number(sentence.horizontal_dil)


def _position(sentence: Any) -> tuple[float, float]:
    """Return latitude and longitude in degrees.

    Raises:
        ValueError: one of them is missing or out of range (pynmea2 alone would call a missing one 0).
    """
    if not (
        sentence.lat and sentence.lon and sentence.lat_dir in {"N", "S"} and sentence.lon_dir in {"E", "W"}
    ):
        raise ValueError("no position")
    lat_deg, lon_deg = float(sentence.latitude), float(sentence.longitude)
    if not on_earth(lat_deg, lon_deg):
        raise ValueError("no position on Earth")
    return lat_deg, lon_deg


def _number(value: object) -> float | None:
    """Return a field as a number, None where it is absent or no number."""
    try:
        return finite(float(str(value)))
    except ValueError:
        return None


def _day_ns(text: str) -> int | None:
    """Return a time of day hhmmss[.sss] in nanoseconds, None where it is absent.

    Raises:
        ValueError: it is no time of day. Second 60 is one: a leap second.
    """
    if not text:
        return None
    found = _TIME.fullmatch(text)
    if found is None or int(found[1]) > 23 or int(found[2]) > 59 or int(found[3]) > 60:
        raise ValueError("no time of day")
    whole = int(found[1]) * 3600 + int(found[2]) * 60 + int(found[3])
    return whole * 1_000_000_000 + int((found[4] or "")[:9].ljust(9, "0"))


def _dated(epochs: list[_Epoch], issues: list[Issue]) -> list[Fix]:
    """Return the fixes, each with the date said for it or carried on from before; adds what was left out."""
    fixes = []
    today: date | None = None
    before_ns = 0
    undated = invalid = 0
    for epoch in epochs:
        if epoch.date is not None:
            today = epoch.date
        elif today is not None and before_ns - epoch.day_ns > _DAY_NS // 2:
            today += timedelta(days=1)
        elif today is not None and epoch.day_ns - before_ns > _DAY_NS // 2:
            today -= timedelta(days=1)  # a late sentence from before midnight
        before_ns = epoch.day_ns
        if epoch.no_fix:
            invalid += 1
        elif epoch.lat_deg is None or epoch.lon_deg is None:
            continue
        elif today is None:
            undated += 1
        else:
            fixes.append(_fix(epoch, today, epoch.lat_deg, epoch.lon_deg))
    if invalid:
        what = counted(invalid, "instant", "instants")
        issues.append(Issue("track_no_fix", f"the receiver had no fix at {what}"))
    if undated:
        what = counted(undated, "fix", "fixes")
        issues.append(Issue("track_no_date", f"{what} before the first date in the file; left out"))
    return fixes


def _fix(epoch: _Epoch, today: date, lat_deg: float, lon_deg: float) -> Fix:
    """Return the fix of an instant."""
    midnight = datetime(today.year, today.month, today.day, tzinfo=UTC)
    return Fix(
        utc_ns=int(midnight.timestamp()) * 1_000_000_000 + epoch.day_ns,
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        altitude_m=epoch.altitude_m,
        speed_mps=epoch.speed_mps,
        hdop=epoch.hdop,
    )
