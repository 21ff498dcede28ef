"""Choosing the reader, the same track in three formats, paths that are no files, and speed."""

from __future__ import annotations

import functools
import gzip
import operator
import os
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logger.core.track import Track
from logger.core.utc import format_utc, parse_utc_ns
from logger.errors import TrackError
from logger.model import Fix
from logger.tracks import read_track

NANO = 1_000_000_000
START_NS = parse_utc_ns("2026-05-03T09:12:00Z")


def loop(count: int) -> list[Fix]:
    """Fixes of our own loop, a second apart, with coordinates that three formats can all write exactly enough."""
    return [
        Fix(START_NS + k * NANO, 45.0 + (k % 5_000) / 5_000.0, 13.0 + (k % 700) / 7_000.0, 200.0, 25.0)
        for k in range(count)
    ]


def as_csv(fixes: list[Fix]) -> str:
    """The fixes as CSV."""
    rows = [f"{format_utc(f.utc_ns)},{f.lat_deg},{f.lon_deg},{f.altitude_m},{f.speed_mps}" for f in fixes]
    return "\r\n".join(["time,lat_deg,lon_deg,altitude_m,speed_mps", *rows, ""])


def as_gpx(fixes: list[Fix]) -> str:
    """The fixes as GPX 1.1, speed as an extension."""
    points = "".join(
        f'<trkpt lat="{f.lat_deg}" lon="{f.lon_deg}"><ele>{f.altitude_m}</ele><time>{format_utc(f.utc_ns)}</time>'
        f"<extensions><speed>{f.speed_mps}</speed></extensions></trkpt>\n"
        for f in fixes
    )
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="test">'
    return f"{head}<trk><trkseg>{points}</trkseg></trk></gpx>"


def as_nmea(fixes: list[Fix]) -> str:
    """The fixes as RMC and GGA."""
    lines = []
    for fix in fixes:
        text = format_utc(fix.utc_ns)
        clock = text[11:13] + text[14:16] + text[17:22]
        date = text[8:10] + text[5:7] + text[2:4]
        lat = f"{int(fix.lat_deg):02}{fix.lat_deg % 1 * 60:011.8f}"
        lon = f"{int(fix.lon_deg):03}{fix.lon_deg % 1 * 60:011.8f}"
        knots = (fix.speed_mps or 0.0) * 3600 / 1852
        bodies = (
            f"GPRMC,{clock},A,{lat},N,{lon},E,{knots:.6f},,{date},,,A",
            f"GPGGA,{clock},{lat},N,{lon},E,1,08,0.9,{fix.altitude_m},M,44.0,M,,",
        )
        lines += [f"${body}*{functools.reduce(operator.xor, body.encode()):02X}\r\n" for body in bodies]
    return "".join(lines)


WRITERS = {"csv": as_csv, "gpx": as_gpx, "nmea": as_nmea}


@pytest.mark.parametrize("name", WRITERS)
@pytest.mark.parametrize("suffix", [".txt", ".gpx", ".log", ""])
def test_content_decides_whatever_the_name(name: str, suffix: str, tmp_path: Path) -> None:
    """Each format is told by its content, also under another's extension, and gives the same fixes."""
    fixes = loop(40)
    path = tmp_path / f"drive{suffix}"
    path.write_text(WRITERS[name](fixes), encoding="utf-8", newline="")
    read = read_track(path)

    assert () == read.issues
    assert len(fixes) == len(read.fixes)
    for expected, actual in zip(fixes, read.fixes, strict=True):
        assert expected.utc_ns == actual.utc_ns
        assert expected.lat_deg == pytest.approx(actual.lat_deg, abs=1e-9)
        assert expected.lon_deg == pytest.approx(actual.lon_deg, abs=1e-9)
        assert expected.speed_mps == pytest.approx(actual.speed_mps, abs=1e-5)
        assert expected.altitude_m == actual.altitude_m


def test_the_extension_is_a_hint_where_content_says_nothing(tmp_path: Path) -> None:
    """A .csv without the right header is refused as CSV, naming what its header lacks."""
    path = tmp_path / "drive.csv"
    path.write_text("a,b\r\n1,2\r\n", encoding="utf-8")
    with pytest.raises(TrackError, match="no columns time, lat_deg, lon_deg"):
        read_track(path)


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "is empty"),
        (b"hello\n", "neither GPX, NMEA 0183 nor CSV"),
        (b"<kml><Document/></kml>", "neither GPX, NMEA 0183 nor CSV"),
        (b"\x00\x01\x02,lat\xff", "neither GPX, NMEA 0183 nor CSV"),
        (gzip.compress(b"<gpx/>", mtime=0), r"is packed \(gzip\)"),
        (b"PK\x03\x04rest", r"is packed \(zip\)"),
    ],
)
def test_what_is_no_track(content: bytes, reason: str, tmp_path: Path) -> None:
    """Other files are refused in one line with what to do."""
    path = tmp_path / "drive.dat"
    path.write_bytes(content)
    with pytest.raises(TrackError, match=reason) as refusal:
        read_track(path)

    assert str(refusal.value).startswith(f"{path}: ")
    assert "; " in str(refusal.value)


def test_paths_that_are_no_files(tmp_path: Path) -> None:
    """A missing file, a directory and an impossible name each get their own line."""
    with pytest.raises(TrackError, match="no such track file"):
        read_track(tmp_path / "none.gpx")
    with pytest.raises(TrackError, match="is a directory"):
        read_track(tmp_path)
    with pytest.raises(TrackError, match="cannot be read"):
        read_track(tmp_path / ("x" * 5_000))
    with pytest.raises(TrackError, match="cannot be read"):
        read_track(Path("nul\x00name"))


def test_a_device_that_refuses_to_be_read() -> None:
    """An I/O error of the system becomes one line: /proc/self/mem cannot be read from its start."""
    path = Path(f"/proc/{os.getpid()}/mem")
    with pytest.raises(TrackError, match="cannot be read"):
        read_track(path)


@pytest.mark.parametrize("name", WRITERS)
def test_twenty_thousand_points_in_a_couple_of_seconds(name: str, tmp_path: Path) -> None:
    """A five-hour file of each format is read, and made a track of, without a quadratic wait."""
    path = tmp_path / "long"
    path.write_text(WRITERS[name](loop(20_000)), encoding="utf-8", newline="")
    began = time.process_time()
    read = read_track(path)
    took = time.process_time() - began
    Track.from_fixes(read.fixes)

    assert 20_000 == len(read.fixes)
    assert took < 6.0


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.sampled_from(sorted(WRITERS)), cut=st.floats(0.0, 1.0), junk=st.binary(max_size=12))
def test_damaged_files_are_read_or_refused(name: str, cut: float, junk: bytes, tmp_path: Path) -> None:
    """Junk written into any place of a good file gives fixes or a TrackError, never anything else."""
    content = bytearray(WRITERS[name](loop(12)).encode())
    place = int(cut * len(content))
    content[place : place + len(junk)] = junk
    path = tmp_path / f"drive.{name}"
    path.write_bytes(bytes(content))
    try:
        read = read_track(path)
    except TrackError as refusal:
        assert "\n" not in str(refusal)  # noqa: PT017
        return
    assert len(read.fixes) <= 12
