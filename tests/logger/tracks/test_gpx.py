"""GPX files: gpxpy's own test tracks, a file of ours, and broken ones."""

from __future__ import annotations

from pathlib import Path

import gpxpy
import pytest
from gpxpy_files import gpxpy_file

from logger.core.utc import parse_utc_ns
from logger.errors import TrackError
from logger.model import Fix
from logger.tracks import read_gpx

GPX11 = '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
"""The namespace name is GPX 1.1's, from the standard."""


def written(folder: Path, points: str, head: str = '<?xml version="1.0" encoding="UTF-8"?>' + GPX11) -> Path:
    """Write a GPX file around track points."""
    path = folder / "loop.gpx"
    path.write_text(f"{head}<trk><trkseg>{points}</trkseg></trk></gpx>", encoding="utf-8")
    return path


def point(second: int, inner: str = "") -> str:
    """A track point at a second after 09:12."""
    return f'<trkpt lat="45.{second:03}" lon="13.7"><time>2026-05-03T09:12:{second:02}Z</time>{inner}</trkpt>'


def test_a_real_car_track(tmp_path: Path) -> None:
    """Every point of gpxpy's car track comes out with the text of the file's first and last point."""
    read = read_gpx(gpxpy_file("around-visnjan-with-car.gpx", tmp_path))

    assert (104, ()) == (len(read.fixes), read.issues)
    assert Fix(parse_utc_ns("2020-12-18T06:15:50Z"), 45.2735188510, 13.7142099626, 211.15) == read.fixes[0]
    assert parse_utc_ns("2020-12-18T06:24:24Z") == read.fixes[-1].utc_ns
    assert all(fix.speed_mps is None and fix.hdop is None for fix in read.fixes)


def test_gpx_1_0_speed(tmp_path: Path) -> None:
    """GPX 1.0 has an element for speed; gpxpy's file with speeds gives 1.2, 2.2 and 3.2 m/s."""
    read = read_gpx(gpxpy_file("track_with_speed.gpx", tmp_path))

    assert [1.2, 2.2, 3.2] == [fix.speed_mps for fix in read.fixes]


def test_points_without_times_are_counted(tmp_path: Path) -> None:
    """In gpxpy's file with most times taken out, those points are counted, the rest kept."""
    path = gpxpy_file("cerknicko-without-times.gpx", tmp_path)
    timed = sum(
        p.point.time is not None for p in gpxpy.parse(path.read_text(encoding="utf-8")).get_points_data()
    )
    read = read_gpx(path)

    assert timed == len(read.fixes)
    assert ["track_no_time"] == [issue.code for issue in read.issues]


def test_speed_extension_and_dilution(tmp_path: Path) -> None:
    """GPX 1.1 has no speed; an extension's `speed`, in any namespace and at any depth, is taken, in m/s."""
    inner = (
        "<ele>200.5</ele><hdop>0.9</hdop><extensions><a:TrackPointExtension xmlns:a='urn:x-test:v2'>"
        "<a:hr>90</a:hr><a:speed>24.5</a:speed></a:TrackPointExtension></extensions>"
    )
    read = read_gpx(
        written(tmp_path, point(0, inner) + point(1, "<extensions><speed>-1</speed></extensions>"))
    )

    assert Fix(parse_utc_ns("2026-05-03T09:12:00Z"), 45.0, 13.7, 200.5, 24.5, 0.9) == read.fixes[0]
    assert (None, None, None) == (read.fixes[1].altitude_m, read.fixes[1].speed_mps, read.fixes[1].hdop)


def test_a_speed_that_is_no_number_is_absent(tmp_path: Path) -> None:
    """A speed of "fast" is None, and its fix stays."""
    assert (
        read_gpx(written(tmp_path, point(0, "<extensions><speed>fast</speed></extensions>")))
        .fixes[0]
        .speed_mps
        is None
    )


def test_zones_and_fractions(tmp_path: Path) -> None:
    """Offsets are honoured, fractions kept to the microsecond, a missing zone is UTC and told of."""
    times = ["2026-05-03T11:12:00.25+02:00", "2026-05-03T09:12:01.123456Z", "2026-05-03T09:12:02"]
    points = "".join(f'<trkpt lat="45" lon="13"><time>{text}</time></trkpt>' for text in times)
    read = read_gpx(written(tmp_path, points))

    expected = ["2026-05-03T09:12:00.25Z", "2026-05-03T09:12:01.123456Z", "2026-05-03T09:12:02Z"]
    assert [parse_utc_ns(text) for text in expected] == [fix.utc_ns for fix in read.fixes]
    assert ["track_no_zone"] == [issue.code for issue in read.issues]


def test_unreadable_times_and_positions_are_left_out(tmp_path: Path) -> None:
    """A time of "yesterday" and a latitude of 95 cost their points only."""
    bad = '<trkpt lat="45" lon="13"><time>yesterday</time></trkpt>'
    far = '<trkpt lat="95" lon="13"><time>2026-05-03T09:12:09Z</time></trkpt>'
    read = read_gpx(written(tmp_path, point(0) + bad + far + point(1)))

    assert 2 == len(read.fixes)
    assert ["track_no_time", "track_bad_position"] == [issue.code for issue in read.issues]


def test_a_file_that_breaks_off_is_read_up_to_there(tmp_path: Path) -> None:
    """A recorder that lost its power leaves no end tags; the whole points count."""
    path = written(tmp_path, "".join(point(second) for second in range(30)))
    path.write_text(path.read_text(encoding="utf-8").partition("09:12:20")[0], encoding="utf-8")
    read = read_gpx(path)

    assert 20 == len(read.fixes)
    assert ["track_broken_off"] == [issue.code for issue in read.issues]


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "iso-8859-1"])
def test_other_encodings(encoding: str, tmp_path: Path) -> None:
    """XML in UTF-16, Latin-1 or with a byte order mark reads the same."""
    declared = encoding.removesuffix("-sig")
    text = f'<?xml version="1.0" encoding="{declared}"?>{GPX11}<trk><name>Straße</name><trkseg>{point(0)}</trkseg></trk></gpx>'
    path = tmp_path / "loop.gpx"
    path.write_bytes(text.encode(encoding))

    assert 1 == len(read_gpx(path).fixes)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "is empty"),
        (" \n\n", "is empty"),
        ("hello", "is not a GPX file"),
        ("<kml><Document/></kml>", "is not a GPX file"),
        (f"{GPX11}<trk><trkseg><trkpt", "broken GPX"),
        (f"{GPX11}<trk></gpx>", "broken GPX"),
        (f'{GPX11}<trk><trkseg><trkpt lat="x" lon="1"/></trkseg></trk></gpx>', "not valid GPX"),
        (f"{GPX11}<trk><trkseg/></trk></gpx>", "no track in it"),
        (f'{GPX11}<wpt lat="1" lon="2"/></gpx>', "no track in it"),
        (f'{GPX11}<trk><trkseg><trkpt lat="1" lon="2"/></trkseg></trk></gpx>', "no times"),
        (f"{GPX11}<trk><trkseg>{point(0).replace('45.', '95.')}</trkseg></trk></gpx>", "no usable fix"),
    ],
)
def test_unusable_files_give_one_line(text: str, reason: str, tmp_path: Path) -> None:
    """What cannot be used is refused in one line that names the file, what is wrong and what to do."""
    path = tmp_path / "loop.gpx"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(TrackError, match=reason) as refusal:
        read_gpx(path)

    assert str(refusal.value).startswith(f"{path}: ")
    assert "\n" not in str(refusal.value)
    assert "; " in str(refusal.value)
