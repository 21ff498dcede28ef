"""GPX 1.0 and 1.1 track files, by gpxpy."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from logger.core.fixes import counted, on_earth
from logger.errors import TrackError
from logger.model import Fix, Issue, TrackFile
from logger.tracks.opening import decoded, finite, read_bytes, track_file

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DECLARATION = re.compile(r"""^\s*<\?xml[^>]*?(?:encoding\s*=\s*["']([\w.-]+)["'])?[^>]*\?>""")
_ENDING = "</trkseg></trk></gpx>"


def read_gpx(path: Path) -> TrackFile:
    """Read every point of every track in a GPX file.

    A point's speed is taken from GPX 1.0's own element or from an extension named `speed`, in m/s as both say.
    A file that breaks off, as when a recorder lost its power, is read up to its last whole point.

    Raises:
        TrackError: the file cannot be read, is no GPX, or has no track, no times or no usable fix.
    """
    issues: list[Issue] = []
    text = _without_declaration(read_bytes(path))
    points = list(_points(_parsed(path, text, issues)))
    if not points:
        raise TrackError(f"{path}: has no track in it; export a track (trk), not waypoints or a route")
    fixes = []
    untimed = bad = unzoned = 0
    for point in points:
        if point.time is None:
            untimed += 1
        elif not on_earth(point.latitude, point.longitude):
            bad += 1
        else:
            unzoned += point.time.tzinfo is None
            fixes.append(_fix(point))
    if untimed == len(points):
        raise TrackError(f"{path}: its points have no times; export the recorded track, not a planned route")
    if untimed:
        what = counted(untimed, "point has", "points have")
        issues.append(Issue("track_no_time", f"{what} no time that can be read; left out"))
    if bad:
        what = counted(bad, "point has a position", "points have positions")
        issues.append(Issue("track_bad_position", f"{what} that cannot be on Earth; left out"))
    if unzoned:
        what = counted(unzoned, "point has a time", "points have times")
        issues.append(Issue("track_no_zone", f"{what} without a zone; taken as UTC, as GPX says"))
    return track_file(path, fixes, issues)


def _without_declaration(content: bytes) -> str:
    """Return the XML text without its declaration, decoded as that says: gpxpy itself takes UTF-8 only."""
    text = decoded(content)
    declaration = _DECLARATION.match(text)
    if declaration is None:
        return text
    encoding = declaration[1]
    if encoding and not encoding.lower().startswith("utf"):
        try:
            text = content.decode(encoding, errors="replace")
        except LookupError:  # a name that Python does not know; coordinates and times are ASCII all the same
            return text[declaration.end() :]
        declaration = _DECLARATION.match(text)
    return text[declaration.end() :] if declaration else text


def _parsed(path: Path, text: str, issues: list[Issue]) -> Any:
    """Return gpxpy's document; adds an Issue when only the part before a break could be read.

    Raises:
        TrackError: this is no GPX.
    """
    import gpxpy
    from gpxpy.gpx import GPXException, GPXXMLSyntaxException

    if re.search(r"<(\w+:)?gpx[\s>]", text[:65_536]) is None:
        raise TrackError(f"{path}: is not a GPX file; give a GPX, NMEA or CSV track")
    try:
        return gpxpy.parse(text)
    except GPXXMLSyntaxException as error:
        cut = text.rfind("</trkpt>")
        if cut >= 0 and "</gpx>" not in text:
            try:
                document = gpxpy.parse(text[: cut + len("</trkpt>")] + _ENDING)
            except GPXException:
                pass
            else:
                issues.append(
                    Issue("track_broken_off", "the file breaks off; read up to its last whole point")
                )
                return document
        raise TrackError(f"{path}: is broken GPX ({_first_line(error)}); export it again") from error
    except (GPXException, ValueError) as error:
        raise TrackError(f"{path}: is not valid GPX ({_first_line(error)}); export it again") from error


def _first_line(error: Exception) -> str:
    """Return the first line of an error's text."""
    return (str(error).splitlines() or ["unreadable"])[0]


def _points(document: Any) -> Iterator[Any]:
    """Yield the points of all tracks in file order."""
    for track in document.tracks:
        for segment in track.segments:
            yield from segment.points


def _fix(point: Any) -> Fix:
    """Return the fix of a point that has a time and a position."""
    # gpxpy gives a zone class of its own, and none where the file has none: GPX times are UTC.
    when = point.time if point.time.tzinfo else point.time.replace(tzinfo=UTC)
    return Fix(
        utc_ns=(when - _EPOCH) // timedelta(microseconds=1) * 1_000,
        lat_deg=point.latitude,
        lon_deg=point.longitude,
        altitude_m=finite(point.elevation),
        speed_mps=_speed_mps(point),
        hdop=finite(point.horizontal_dilution),
    )


def _speed_mps(point: Any) -> float | None:
    """Return the speed of a point from GPX 1.0's element or an extension, None where there is none."""
    if point.speed is not None:
        return _not_negative(point.speed)
    for extension in point.extensions:
        for element in extension.iter():
            if isinstance(element.tag, str) and element.tag.rpartition("}")[2].lower() == "speed":
                try:
                    return _not_negative(float(element.text or ""))
                except ValueError:
                    return None
    return None


def _not_negative(speed_mps: float) -> float | None:
    """Return a speed, None for what is none: phones write -1 for not known."""
    return speed_mps if finite(speed_mps) is not None and speed_mps >= 0.0 else None
