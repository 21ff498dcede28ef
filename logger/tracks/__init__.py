"""Track files: one reader per format, and `read_track`, which chooses among them; and the writers of drives as tracks."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from types import MappingProxyType
from typing import BinaryIO

from logger.core.chart import Chart
from logger.errors import TrackError
from logger.model import TrackFile
from logger.tracks.csv_track import read_csv
from logger.tracks.geojson_written import write_geojson
from logger.tracks.gpx import read_gpx
from logger.tracks.gpx_written import write_gpx
from logger.tracks.nmea import read_nmea
from logger.tracks.opening import decoded, read_bytes

__all__ = ["WRITERS", "read_csv", "read_gpx", "read_nmea", "read_track"]

WRITERS: MappingProxyType[str, Callable[[Iterable[Chart], BinaryIO], None]] = MappingProxyType(
    {"gpx": write_gpx, "geojson": write_geojson}
)
"""The writers of drives as tracks, by the names used on the command line."""

_HEAD_BYTES = 65_536
_BY_EXTENSION: dict[str, Callable[[Path], TrackFile]] = {
    ".gpx": read_gpx,
    ".nmea": read_nmea,
    ".csv": read_csv,
}
_PACKED = {b"\x1f\x8b": "gzip", b"PK": "zip", b"BZh": "bzip2", b"\xfd7zXZ": "xz"}


def read_track(path: Path) -> TrackFile:
    """Read a track file of any known format, told by its content, and by its extension where that says nothing.

    Raises:
        TrackError: the file cannot be read, or is none of GPX, NMEA 0183 and CSV, or holds no usable fix.
    """
    content = read_bytes(path)
    for magic, packing in _PACKED.items():
        if content.startswith(magic):
            raise TrackError(f"{path}: is packed ({packing}); unpack it and name the track inside")
    head = decoded(content[:_HEAD_BYTES]).lstrip("\ufeff \t\r\n")
    reader = _by_content(head) or _BY_EXTENSION.get(path.suffix.lower())
    if reader is None:
        raise TrackError(f"{path}: is neither GPX, NMEA 0183 nor CSV; export the track as one of these")
    return reader(path)


def _by_content(head: str) -> Callable[[Path], TrackFile] | None:
    """Return the reader that a file's beginning calls for, None where it calls for none."""
    if head.startswith("<"):
        return read_gpx if re.search(r"<(\w+:)?gpx[\s>]", head) else None
    if re.search(r"\$[A-Z]{2}[A-Z]{3},[^\r\n]*\*[0-9A-Fa-f]{2}", head):
        return read_nmea
    first_line = head.partition("\n")[0].lower()
    if "," in first_line and re.search(r"\blat", first_line) and "\x00" not in first_line:
        return read_csv
    return None
