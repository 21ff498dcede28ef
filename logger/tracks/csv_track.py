"""CSV tracks (RFC 4180): a header says which column is what, and in which unit.

Time is RFC 3339 with a zone. Latitude and longitude are degrees. Everything else carries its unit in its name; a
column without one is not guessed at.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from logger.core.fixes import counted, on_earth
from logger.core.utc import parse_utc_ns
from logger.errors import TrackError
from logger.model import Fix, Issue, TrackFile
from logger.tracks.opening import decoded, finite, read_bytes, track_file

_TIME = ("time", "utc", "time_utc", "utc_time", "timestamp", "datetime", "date_time", "at")
_LAT = ("lat_deg", "lat", "latitude", "latitude_deg", "lat_degrees", "latitude_degrees")
_LON = ("lon_deg", "lon", "longitude", "longitude_deg", "lng", "long", "lon_degrees", "longitude_degrees")
_SPEED_UNITS = {
    "mps": 1.0,
    "m_s": 1.0,
    "kmh": 1.0 / 3.6,
    "km_h": 1.0 / 3.6,
    "kph": 1.0 / 3.6,
    "mph": 1609.344 / 3600.0,
    "mi_h": 1609.344 / 3600.0,
    "kn": 1852.0 / 3600.0,
    "knots": 1852.0 / 3600.0,
}
_HEIGHT_UNITS = {"m": 1.0, "meters": 1.0, "metres": 1.0, "ft": 0.3048, "feet": 0.3048}
_SPEEDS = ("speed", "gps_speed", "ground_speed")
_HEIGHTS = ("altitude", "alt", "elevation", "ele", "height")


@dataclass(frozen=True, slots=True)
class _Column:
    """Where a field is found, and what to multiply it by."""

    index: int
    scale: float = 1.0


class _RowError(Exception):
    """A row that is no fix."""


def read_csv(path: Path) -> TrackFile:
    """Read a CSV track. Rows that cannot be read are counted and left out.

    Raises:
        TrackError: the file cannot be read, its header lacks a needed column, or no row is a fix.
    """
    text = decoded(read_bytes(path))
    rows = _rows(text)
    header = next(rows, (1, None))[1]
    if header is None:
        raise TrackError(
            f"{path}: its first line is no CSV header; begin with a line such as time,lat_deg,lon_deg"
        )
    issues: list[Issue] = []
    columns = _columns(path, header, issues)
    fixes: list[Fix] = []
    refused = vague = 0
    first_refused = first_vague = ""
    for line, row in rows:
        try:
            fix, unread = _fix(row, columns, len(header))
        except _RowError as reason:
            first_refused = first_refused or f"line {line}: {reason}"
            refused += 1
            continue
        if unread:
            first_vague = first_vague or f"line {line}: {unread}"
            vague += 1
        fixes.append(fix)
    if refused:
        what = counted(refused, "row could not be read and is", "rows could not be read and are")
        issues.append(Issue("track_bad_row", f"{what} left out; {first_refused}"))
    if vague:
        what = counted(vague, "row has", "rows have")
        issues.append(
            Issue("track_bad_value", f"{what} a value that could not be read, taken as absent; {first_vague}")
        )
    return track_file(path, fixes, issues)


def _rows(text: str) -> Iterator[tuple[int, list[str] | None]]:
    """Yield (line number, fields) of every row that is not blank, None in place of fields when quotes don't match."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        line = reader.line_num + 1
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error:
            yield line, None
            continue
        if any(field.strip() for field in row):
            yield line, row


def _columns(path: Path, header: list[str], issues: list[Issue]) -> dict[str, _Column]:
    """Return the columns to read by field, and add an Issue for each that is passed over for its missing unit.

    Raises:
        TrackError: time, latitude or longitude has no column.
    """
    names = [re.sub(r"[^a-z0-9]+", "_", name.strip().lower()).strip("_") for name in header]
    meanings: dict[str, dict[str, float]] = {
        "time": dict.fromkeys(_TIME, 1.0),
        "lat_deg": dict.fromkeys(_LAT, 1.0),
        "lon_deg": dict.fromkeys(_LON, 1.0),
        "altitude_m": {f"{n}_{u}": scale for n in _HEIGHTS for u, scale in _HEIGHT_UNITS.items()},
        "speed_mps": {f"{n}_{u}": scale for n in _SPEEDS for u, scale in _SPEED_UNITS.items()},
        "hdop": {"hdop": 1.0},
    }
    columns: dict[str, _Column] = {}
    for index, name in enumerate(names):
        for field, known in meanings.items():
            if name not in known:
                continue
            if field in columns:
                message = f"columns {header[columns[field].index]!r} and {header[index]!r} say the same; the first is used"
                issues.append(Issue("track_two_columns", message))
            else:
                columns[field] = _Column(index, known[name])
        if name in _SPEEDS or name in _HEIGHTS:
            example = f"{name}_kmh or {name}_mph" if name in _SPEEDS else f"{name}_m or {name}_ft"
            message = f"column {header[index]!r} has no unit in its name and is left out; call it {example}"
            issues.append(Issue("track_no_unit", message))
    missing = [field for field in ("time", "lat_deg", "lon_deg") if field not in columns]
    if missing:
        found = ", ".join(name.strip() for name in header)
        hint = (
            "separate columns by commas"
            if len(header) == 1 and re.search(r"[;\t]", found)
            else "rename or add it"
        )
        many = "s" if len(missing) > 1 else ""
        raise TrackError(f"{path}: no column{many} {', '.join(missing)} in its header ({found!r}); {hint}")
    return columns


def _fix(row: list[str] | None, columns: dict[str, _Column], field_count: int) -> tuple[Fix, str]:
    """Return a row's fix, and the first value that is there but no number, as text ("" when all are).

    Raises:
        _RowError: time or position cannot be read; says which.
    """
    if row is None:
        raise _RowError("quotes do not match")
    if len(row) != field_count:
        raise _RowError(f"{len(row)} fields where the header has {field_count}")
    try:
        utc_ns = parse_utc_ns(row[columns["time"].index].strip())
    except ValueError as error:
        raise _RowError(str(error)) from error
    lat_deg, lon_deg = (_degrees(row[columns[field].index]) for field in ("lat_deg", "lon_deg"))
    if not on_earth(lat_deg, lon_deg):
        raise _RowError(f"position {lat_deg}, {lon_deg} is not on Earth")
    values: dict[str, float | None] = {}
    unread = ""
    for field in ("altitude_m", "speed_mps", "hdop"):
        column = columns.get(field)
        text = "" if column is None else row[column.index].strip()
        values[field] = None
        if column is None or not text:
            continue
        number = _number(text)
        if number is None or (number < 0.0 and field != "altitude_m"):
            unread = unread or f"{field} {text!r}"
        else:
            values[field] = number * column.scale
    fix = Fix(
        utc_ns=utc_ns,
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        altitude_m=values["altitude_m"],
        speed_mps=values["speed_mps"],
        hdop=values["hdop"],
    )
    return fix, unread


def _degrees(text: str) -> float:
    """Return an angle.

    Raises:
        _RowError: the text is no number.
    """
    value = _number(text)
    if value is None:
        raise _RowError(f"{text.strip()!r} is no number of degrees")
    return value


def _number(text: str) -> float | None:
    """Return a finite number, None for other text."""
    try:
        return finite(float(text))
    except ValueError:
        return None
