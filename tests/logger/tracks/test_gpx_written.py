"""GPX as it is written: valid by its own schema (xmlschema), and the same points in Debian's gpsbabel, gpxpy and our reader."""

from __future__ import annotations

import csv
import io
import math
import subprocess
from pathlib import Path

import gpxpy
import pytest
import xmlschema
from charted import BEGAN, NANO, chart, eastward, fix
from gpx_schema import gpx_schema

from logger.core.chart import Chart
from logger.core.track import Track
from logger.tracks import WRITERS, read_gpx

SECONDS = [*range(60), *range(200, 260), 400]
"""Two pieces and a lonely fix."""


def written(*charts: Chart) -> str:
    """The document."""
    stream = io.BytesIO()
    WRITERS["gpx"](charts, stream)
    return stream.getvalue().decode()


def through_gpsbabel(folder: Path, document: str, form: str) -> str:
    """What gpsbabel writes in another format of what it reads as GPX."""
    path = folder / "out.gpx"
    path.write_text(document, encoding="utf-8")
    done = subprocess.run(
        [
            "gpsbabel",
            "-w",
            *(["-t"] if form == "gpx" else []),
            "-i",
            "gpx",
            "-f",
            str(path),
            "-o",
            form,
            "-F",
            "-",
        ],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return done.stdout


@pytest.mark.parametrize(
    "drives",
    [
        [chart(eastward(SECONDS))],
        [chart(eastward(SECONDS, full=False))],
        [chart(eastward([3])), chart(eastward(SECONDS, from_lon_deg=179.999), name='b & "c" \x00')],
        [chart([fix(0, 10.0, 180.0), fix(1, 10.0, 180.0)], entries=())],
    ],
    ids=["full", "places only", "two drives over the antimeridian", "at 180 degrees"],
)
def test_it_is_valid(drives: list[Chart]) -> None:
    """The schema accepts it, whatever the drive has."""
    gpx_schema().validate(written(*drives))


def test_what_is_not_valid_would_be_seen() -> None:
    """The schema refuses elements in another order, and a longitude of 180."""
    document = written(chart(eastward(range(3))))

    for wrong in (
        document.replace("<ele>", "<name>x</name><ele>", 1),
        document.replace('lon="0.5"', 'lon="180.0"'),
    ):
        assert wrong != document
        with pytest.raises(xmlschema.XMLSchemaValidationError):
            gpx_schema().validate(wrong)


def test_our_own_reader_gets_the_same_track(tmp_path: Path) -> None:
    """Every fix comes back with the same digits, and with them the very distances; only hdop is not written."""
    fixes = eastward(SECONDS)
    path = tmp_path / "drive.gpx"
    path.write_text(written(chart(fixes)), encoding="utf-8")
    read = read_gpx(path)

    assert () == read.issues
    assert [(each.utc_ns, each.lat_deg, each.lon_deg, each.altitude_m, each.speed_mps) for each in fixes] == [
        (each.utc_ns, each.lat_deg, each.lon_deg, each.altitude_m, each.speed_mps) for each in read.fixes
    ]
    before, after = Track.from_fixes(fixes)[0], Track.from_fixes(read.fixes)[0]
    assert before.distance_m.tolist() == after.distance_m.tolist()


def test_gpsbabel_gets_the_same_points(tmp_path: Path) -> None:
    """Debian's gpsbabel reads every point of the way and writes it back as GPX: same places to its 9 decimals, times and heights."""
    fixes = eastward(SECONDS)
    back = gpxpy.parse(through_gpsbabel(tmp_path, written(chart(fixes)), "gpx"))
    segments = [len(segment.points) for track in back.tracks for segment in track.segments]
    points = [each.point for each in back.get_points_data()]

    assert [60, 60, 1] == segments
    for ours, theirs in zip(fixes, points, strict=True):
        assert pytest.approx((ours.lat_deg, ours.lon_deg), abs=1e-9) == (theirs.latitude, theirs.longitude)
        assert pytest.approx(ours.altitude_m, abs=1e-3) == theirs.elevation
        assert (ours.utc_ns - BEGAN) / NANO == theirs.time.timestamp() - BEGAN / NANO


def test_gpsbabel_gets_the_checkpoints(tmp_path: Path) -> None:
    """Three of the four have a place; their names and descriptions come through, awkward letters too."""
    back = gpxpy.parse(through_gpsbabel(tmp_path, written(chart(eastward(range(60)))), "gpx"))

    assert ["1: 80 %", '2: a & b <c> "\ufffd" –', "3: checkpoint"] == [each.name for each in back.waypoints]
    assert "charge 80 %, trip 0.2 mi" == back.waypoints[0].description
    assert [10.0, 40.0, 50.0] == [each.time.timestamp() - BEGAN / NANO for each in back.waypoints]


def test_gpsbabel_makes_a_table_of_it(tmp_path: Path) -> None:
    """In another format than GPX, read by Python's csv, the first checkpoint lies where the car was after 10 s."""
    fixes = eastward(range(60))
    (first, *_) = csv.DictReader(io.StringIO(through_gpsbabel(tmp_path, written(chart(fixes)), "unicsv")))

    assert f"{fixes[10].lat_deg:.6f}" == first["Latitude"]
    assert f"{fixes[10].lon_deg:.6f}" == first["Longitude"]
    assert ("1: 80 %", "charge 80 %, trip 0.2 mi") == (first["Name"], first["Description"])


def test_what_a_receiver_did_not_give_is_left_out() -> None:
    """Without altitude and speed there is neither element nor a NaN; a speed is in our namespace, in m/s."""
    assert "<ele>" not in written(chart(eastward(range(3), full=False)))
    assert "nan" not in written(chart(eastward(range(3), full=False))).lower()
    point = gpxpy.parse(written(chart(eastward(range(3))))).tracks[0].segments[0].points[2]
    assert ("{urn:x-odovox:gpx}speed", "24.02") == (point.extensions[0].tag, point.extensions[0].text)


def test_times_are_rounded_to_microseconds(tmp_path: Path) -> None:
    """A fix 499 ns after a microsecond is told as at that, one 500 ns after it as at the next."""
    shifted = [fix(0.0, 1.0, 1.0), fix(1.0000004990, 1.0001, 1.0), fix(2.0000005, 1.0002, 1.0)]
    path = tmp_path / "drive.gpx"
    path.write_text(written(chart(shifted, entries=())), encoding="utf-8")

    assert [0, NANO, 2 * NANO + 1000] == [each.utc_ns - BEGAN for each in read_gpx(path).fixes]
    assert not math.isnan(read_gpx(path).fixes[0].speed_mps or 0.0)
