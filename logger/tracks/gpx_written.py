"""Drives as GPX 1.1, by gpxpy: each way a track, each checkpoint that has a place a waypoint."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any, BinaryIO

from logger.core.chart import Chart, Checkpoint, Position, checkpoints_of, pieces
from logger.core.track import Track

SPEED_NAMESPACE = "urn:x-odovox:gpx"
"""GPX 1.1 has no element for speed; in an extension of this namespace, `speed`, it is in m/s, as GPX 1.0 had it."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 has no way to write (section 2.2, production 2)."""


def write_gpx(charts: Iterable[Chart], stream: BinaryIO) -> None:
    """Write drives as one GPX 1.1 document in UTF-8.

    Latitudes, longitudes, altitudes and speeds keep every digit, times are rounded to microseconds.

    Raises:
        OSError: the stream cannot be written.
    """
    from gpxpy.gpx import GPX

    document = GPX()
    document.creator = "odovox"
    document.nsmap["odovox"] = SPEED_NAMESPACE
    for chart in charts:
        document.time = document.time or _time(chart.began_utc_ns)
        document.waypoints += [
            _waypoint(each, each.place)
            for each in checkpoints_of(chart.checkpoints)
            if each.place is not None
        ]
        document.tracks.append(_track(chart))
    stream.write(document.to_xml(version="1.1").encode())


def _waypoint(checkpoint: Checkpoint, place: Position) -> Any:
    from gpxpy.gpx import GPXWaypoint

    lon_deg, lat_deg = place
    return GPXWaypoint(
        latitude=lat_deg,
        longitude=_below_180(lon_deg),
        time=_time(checkpoint.at_utc_ns),
        name=_text(f"{checkpoint.number}: {checkpoint.title}"),
        description=_text(checkpoint.told) or None,
        type="checkpoint",
    )


def _track(chart: Chart) -> Any:
    from gpxpy.gpx import GPXTrack, GPXTrackSegment

    track = GPXTrack(name=_text(chart.name))
    for piece in pieces(chart.track):
        track.segments.append(GPXTrackSegment(list(_points(chart.track, piece))))
    return track


def _points(track: Track, piece: slice) -> Iterable[Any]:
    from xml.etree.ElementTree import Element

    from gpxpy.gpx import GPXTrackPoint

    columns = (track.utc_ns, track.lat_deg, track.lon_deg, track.altitude_m, track.speed_mps)
    for utc_ns, lat_deg, lon_deg, altitude_m, speed_mps in zip(
        *(column[piece].tolist() for column in columns), strict=True
    ):
        point = GPXTrackPoint(
            lat_deg,
            _below_180(lon_deg),
            elevation=None if math.isnan(altitude_m) else altitude_m,
            time=_time(utc_ns),
        )
        if not math.isnan(speed_mps):
            speed = Element(f"{{{SPEED_NAMESPACE}}}speed")
            speed.text = repr(speed_mps)
            point.extensions.append(speed)
        yield point


def _below_180(lon_deg: float) -> float:
    """Return a longitude as GPX wants it, which has -180 degrees and not 180 (`longitudeType` of its schema)."""
    return -180.0 if lon_deg == 180.0 else lon_deg


def _time(utc_ns: int) -> datetime:
    return _EPOCH + timedelta(microseconds=(utc_ns + 500) // 1_000)


def _text(text: str) -> str:
    return _NO_XML.sub("\ufffd", text)
