"""CSV tracks: column names, units, rows and files that cannot be read."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logger.core.utc import format_utc, parse_utc_ns
from logger.errors import TrackError
from logger.model import Fix
from logger.tracks import read_csv

START_NS = parse_utc_ns("2026-05-03T09:12:00Z")


def written(folder: Path, *lines: str) -> Path:
    """Write a file with the line ends of RFC 4180."""
    path = folder / "drive.csv"
    path.write_bytes("".join(f"{line}\r\n" for line in lines).encode())
    return path


def test_every_column(tmp_path: Path) -> None:
    """A row with all columns is a whole fix."""
    read = read_csv(
        written(
            tmp_path,
            "time,lat_deg,lon_deg,altitude_m,speed_mps,hdop",
            "2026-05-03T11:12:00+02:00,45.2,-13.7,211.5,30.5,0.9",
        )
    )

    assert ((Fix(START_NS, 45.2, -13.7, 211.5, 30.5, 0.9),), ()) == (read.fixes, read.issues)


@pytest.mark.parametrize(
    "header",
    [
        "utc,lat,lon",
        "Time,Latitude,Longitude",
        "timestamp,LAT_DEG,lng",
        "UTC time,Lat (deg),Lon (deg)",
        '"time","lat","lon"',
        "\ufefftime,lat,lon",
    ],
)
def test_names_of_columns(header: str, tmp_path: Path) -> None:
    """The common names of time, latitude and longitude are known, in any case and quoting."""
    assert (Fix(START_NS, 45.2, 13.7),) == read_csv(
        written(tmp_path, header, "2026-05-03T09:12:00Z,45.2,13.7")
    ).fixes


# Factors by definition: the mile is 1609.344 m, the knot 1852 m/h, the foot 0.3048 m (check-values.md section 1).
@pytest.mark.parametrize(
    ("column", "text", "expected"),
    [
        ("speed_mps", "30", 30.0),
        ("Speed (m/s)", "30", 30.0),
        ("speed_kmh", "108", 30.0),
        ("speed (km/h)", "108", 30.0),
        ("speed_kph", "108", 30.0),
        ("speed_mph", "70", 31.2928),
        ("speed_knots", "22.4", 11.523556),
        ("gps_speed_mph", "0", 0.0),
    ],
)
def test_units_of_speed(column: str, text: str, expected: float, tmp_path: Path) -> None:
    """The unit in a column's name decides."""
    (fix,) = read_csv(
        written(tmp_path, f"time,lat,lon,{column}", f"2026-05-03T09:12:00Z,45.2,13.7,{text}")
    ).fixes

    assert expected == pytest.approx(fix.speed_mps, abs=1e-6)


@pytest.mark.parametrize(
    ("column", "expected"), [("altitude_m", 1000.0), ("elevation_ft", 304.8), ("ele (m)", 1000.0)]
)
def test_units_of_height(column: str, expected: float, tmp_path: Path) -> None:
    """Metres or feet, as the name says."""
    (fix,) = read_csv(
        written(tmp_path, f"time,lat,lon,{column}", "2026-05-03T09:12:00Z,45.2,13.7,1000")
    ).fixes

    assert expected == pytest.approx(fix.altitude_m)


def test_a_column_without_a_unit_is_not_guessed_at(tmp_path: Path) -> None:
    """A bare `speed` may be anything: it is left out, and the person told how to name it."""
    read = read_csv(written(tmp_path, "time,lat,lon,Speed", "2026-05-03T09:12:00Z,45.2,13.7,70"))

    assert read.fixes[0].speed_mps is None
    assert ["column 'Speed' has no unit in its name and is left out; call it speed_kmh or speed_mph"] == [
        issue.message for issue in read.issues
    ]


def test_two_columns_for_one_thing_are_told_of(tmp_path: Path) -> None:
    """The first of two speeds is used."""
    read = read_csv(
        written(tmp_path, "time,lat,lon,speed_mps,speed_mph", "2026-05-03T09:12:00Z,45.2,13.7,30,1")
    )

    assert 30.0 == read.fixes[0].speed_mps
    assert ["track_two_columns"] == [issue.code for issue in read.issues]


def test_empty_values_are_absent(tmp_path: Path) -> None:
    """An empty field is None, not 0, and nothing to tell."""
    read = read_csv(
        written(tmp_path, "time,lat,lon,speed_mps,altitude_m,hdop", "2026-05-03T09:12:00Z,45.2,13.7,,,")
    )

    assert ((Fix(START_NS, 45.2, 13.7),), ()) == (read.fixes, read.issues)


def test_values_that_are_no_numbers_are_absent_and_told_of(tmp_path: Path) -> None:
    """A speed of "fast" or -1 or nan costs the value, not the fix."""
    rows = [f"2026-05-03T09:12:0{k}Z,45.2,13.7,{text}" for k, text in enumerate(["30", "fast", "-1", "nan"])]
    read = read_csv(written(tmp_path, "time,lat,lon,speed_mps", *rows))

    assert [30.0, None, None, None] == [fix.speed_mps for fix in read.fixes]
    assert ["3 rows have a value that could not be read, taken as absent; line 3: speed_mps 'fast'"] == [
        issue.message for issue in read.issues
    ]


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("2026-05-03T09:12:01,45.2,13.7", "has no zone"),
        ("yesterday,45.2,13.7", "is not a date and time"),
        (",45.2,13.7", "is not a date and time"),
        ("2026-05-03T09:12:01Z,,13.7", "no number of degrees"),
        ("2026-05-03T09:12:01Z,45.2,nan", "no number of degrees"),
        ("2026-05-03T09:12:01Z,95.2,13.7", "not on Earth"),
        ("2026-05-03T09:12:01Z,45.2", "2 fields where the header has 3"),
        ("2026-05-03T09:12:01Z,45,2,13,7", "5 fields where the header has 3"),
        ('2026-05-03T09:12:01Z,"45.2"x,13.7', "quotes do not match"),
    ],
)
def test_rows_that_cannot_be_read_are_counted(row: str, why: str, tmp_path: Path) -> None:
    """A bad row is left out, the first one's line and reason are told, and the rows around it stay."""
    good = [f"2026-05-03T09:12:0{k}Z,45.2,13.7" for k in range(3)]
    read = read_csv(written(tmp_path, "time,lat,lon", good[0], row, good[1], row, good[2]))

    assert 3 == len(read.fixes)
    (issue,) = read.issues
    assert issue.message.startswith("2 rows could not be read and are left out; line 3: ")
    assert why in issue.message


def test_a_date_that_cannot_be_is_left_out(tmp_path: Path) -> None:
    """The year 9999 is a date, but not of a drive; it must not reach a store that holds 64-bit nanoseconds."""
    rows = ["2026-05-03T09:12:00Z,45.2,13.7", "9999-05-03T09:12:01Z,45.2,13.7"]
    read = read_csv(written(tmp_path, "time,lat,lon", *rows))

    assert 1 == len(read.fixes)
    assert ["track_bad_time"] == [issue.code for issue in read.issues]


def test_quoted_commas_line_breaks_and_blank_lines(tmp_path: Path) -> None:
    """RFC 4180's quoted fields may hold commas, quotes and line breaks; blank lines are no rows."""
    lines = ["time,note,lat,lon", '2026-05-03T09:12:00Z,"rain, ""hard""\r\nand wind",45.2,13.7', "", "x,,1,2"]
    read = read_csv(written(tmp_path, *lines))

    assert (Fix(START_NS, 45.2, 13.7),) == read.fixes
    assert "line 5:" in read.issues[0].message


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("", "is empty"),
        ("time,lat\r\n2026-05-03T09:12:00Z,45\r\n", "no column lon_deg in its header"),
        ("a,b,c\r\n1,2,3\r\n", "no columns time, lat_deg, lon_deg in its header"),
        ("time;lat;lon\r\n2026-05-03T09:12:00Z;45;13\r\n", "separate columns by commas"),
        ("time,lat,lon\r\n", "no usable fix"),
        ("time,lat,lon\r\n2026-05-03T09:12:00,45,13\r\n", "has no zone; add Z"),
        ('"time,lat,lon\r\n', "no CSV header"),
    ],
)
def test_unusable_files_give_one_line(content: str, reason: str, tmp_path: Path) -> None:
    """What cannot be used is refused in one line that names the file, what is wrong and what to do."""
    path = tmp_path / "drive.csv"
    path.write_text(content, encoding="utf-8", newline="")
    with pytest.raises(TrackError, match=reason) as refusal:
        read_csv(path)

    assert str(refusal.value).startswith(f"{path}: ")
    assert "\n" not in str(refusal.value)


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(0, 4_000_000_000_000).map(lambda ms: ms * 1_000_000),
            st.floats(-90.0, 90.0),
            st.floats(-180.0, 180.0),
            st.none() | st.floats(0.0, 100.0),
        ),
        min_size=1,
        max_size=8,
    )
)
def test_what_pythons_csv_writes_comes_back(rows: list[tuple[int, float, float, float | None]]) -> None:
    """Any fixes written by the csv module are read back exactly."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drive.csv"
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(["time", "lat_deg", "lon_deg", "speed_mps"])
            writer.writerows([format_utc(utc), lat, lon, speed] for utc, lat, lon, speed in rows)
        fixes = read_csv(path).fixes

    assert tuple(Fix(utc, lat, lon, speed_mps=speed) for utc, lat, lon, speed in rows) == fixes
