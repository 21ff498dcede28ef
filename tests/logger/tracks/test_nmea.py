"""NMEA 0183 logs: public example sentences, gpsd's decoder beside ours, and what goes wrong."""

from __future__ import annotations

import functools
import json
import operator
import subprocess
from pathlib import Path

import pytest

from logger.core.utc import format_utc, parse_utc_ns
from logger.errors import TrackError
from logger.tracks import read_nmea

# Public example sentences with their checksums (check-values.md section 4: recalled, checked by XOR and pynmea2).
GGA = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
RMC = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"
GLL = "$GPGLL,4916.45,N,12311.12,W,225444,A,*1D"
VTG = "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48"
GGA_SOUTH = "$GPGGA,184353.07,1929.045,S,02410.506,E,1,04,2.6,100.00,M,-33.9,M,,0000*6D"


def sentence(body: str) -> str:
    """A sentence with its checksum: the XOR of the characters between $ and *."""
    return f"${body}*{functools.reduce(operator.xor, body.encode('ascii')):02X}"


def rmc(
    time: str,
    date: str = "030526",
    *,
    status: str = "A",
    speed: str = "48.60",
    lat: str = "4512.0000",
    talker: str = "GN",
) -> str:
    """An RMC sentence."""
    return sentence(f"{talker}RMC,{time},{status},{lat},N,01342.0000,E,{speed},084.4,{date},,,A")


def gga(
    time: str, *, quality: int = 1, lat: str = "4512.0000", altitude: str = "211.5", talker: str = "GP"
) -> str:
    """A GGA sentence."""
    return sentence(f"{talker}GGA,{time},{lat},N,01342.0000,E,{quality},08,0.9,{altitude},M,44.0,M,,")


def written(folder: Path, *lines: str) -> Path:
    """Write a log with the standard's line ends."""
    path = folder / "drive.nmea"
    path.write_bytes("".join(f"{line}\r\n" for line in lines).encode("ascii"))
    return path


def times(path: Path) -> list[str]:
    """The times of the fixes, as text."""
    return [format_utc(fix.utc_ns) for fix in read_nmea(path).fixes]


@pytest.mark.parametrize("lines", [(GGA, RMC), (RMC, GGA), (GLL, RMC, VTG, GGA)])
def test_public_sentences_make_one_fix(lines: tuple[str, ...], tmp_path: Path) -> None:
    """The public GGA and RMC, in either order: 48.1173, 11.5166667, 545.4 m, 22.4 knots = 11.523556 m/s."""
    read = read_nmea(written(tmp_path, *lines))
    (fix,) = read.fixes

    assert () == read.issues
    assert "1994-03-23T12:35:19.000Z" == format_utc(fix.utc_ns)
    assert (pytest.approx(48.1173, abs=1e-9), pytest.approx(11.5166667, abs=1e-7)) == (
        fix.lat_deg,
        fix.lon_deg,
    )
    assert (545.4, pytest.approx(11.523556, abs=1e-6), 0.9) == (fix.altitude_m, fix.speed_mps, fix.hdop)


def test_south_is_negative_and_hundredths_count(tmp_path: Path) -> None:
    """The public southern GGA (19.4840833 S, 24.1751 E) after an RMC that gives the date."""
    fix = read_nmea(written(tmp_path, rmc("184352.07"), GGA_SOUTH)).fixes[1]

    assert (pytest.approx(-19.4840833, abs=1e-7), pytest.approx(24.1751, abs=1e-9)) == (
        fix.lat_deg,
        fix.lon_deg,
    )
    assert "2026-05-03T18:43:53.070Z" == format_utc(fix.utc_ns)
    assert fix.speed_mps is None


def test_gpsdecode_reads_the_same(tmp_path: Path) -> None:
    """The decoder of gpsd (Debian gpsd-clients) finds the same times, positions, speeds and altitudes as we do."""
    lines = []
    for second in range(30):
        time, lat = f"0912{second:02}.00", f"4512.{second * 83:04}"
        lines += [rmc(time, lat=lat, speed=f"{40 + second / 2:.2f}", talker="GP"), gga(time, lat=lat)]
    path = written(tmp_path, *lines)
    decoded = subprocess.run(
        ["gpsdecode", "-d"], input=path.read_bytes(), capture_output=True, check=True, timeout=60
    ).stdout.decode()
    reports = {}
    for line in decoded.splitlines():
        report = json.loads(line)
        if report["class"] == "TPV" and "lat" in report and "altMSL" in report:
            reports[parse_utc_ns(report["time"])] = report
    ours = {fix.utc_ns: fix for fix in read_nmea(path).fixes}
    shared = sorted(reports.keys() & ours.keys())

    assert 30 == len(ours)
    assert len(shared) >= 28  # gpsd reports an epoch when the next one begins
    for utc_ns in shared:
        theirs, mine = reports[utc_ns], ours[utc_ns]
        assert theirs["lat"] == pytest.approx(mine.lat_deg, abs=2e-9)
        assert theirs["lon"] == pytest.approx(mine.lon_deg, abs=2e-9)
        assert theirs["speed"] == pytest.approx(mine.speed_mps, abs=1e-3)
        assert theirs["altMSL"] == pytest.approx(mine.altitude_m, abs=1e-3)


def test_wrong_and_missing_checksums_are_counted(tmp_path: Path) -> None:
    """One digit changed, a checksum cut off: both are left out, with the first line named."""
    spoilt = rmc("091201.00").replace("4512", "4612")
    bare = rmc("091202.00").partition("*")[0]
    read = read_nmea(written(tmp_path, rmc("091200.00"), spoilt, bare, rmc("091203.00")))

    assert 2 == len(read.fixes)
    assert ["2 sentences have a wrong or missing checksum, first in line 2; left out"] == [
        issue.message for issue in read.issues
    ]


def test_no_fix_is_no_fix(tmp_path: Path) -> None:
    """Status V, quality 0 and mode N give no position, whatever numbers stand beside them, and are counted."""
    lines = [
        rmc("091200.00", status="V"),
        gga("091201.00", quality=0),
        rmc("091201.00"),
        sentence("GNRMC,091202.00,A,4512.0000,N,01342.0000,E,1.0,,030526,,,N"),
        rmc("091203.00"),
    ]
    read = read_nmea(written(tmp_path, *lines))

    assert ["2026-05-03T09:12:03.000Z"] == [format_utc(fix.utc_ns) for fix in read.fixes]
    assert ["the receiver had no fix at 3 instants"] == [issue.message for issue in read.issues]


def test_a_receiver_without_navigational_status_is_believed(tmp_path: Path) -> None:
    """NMEA 4.1's last field of RMC is V in many receivers and says nothing about the fix."""
    line = sentence("GNRMC,091202.00,A,4512.0000,N,01342.0000,E,1.0,,030526,,,A,V")

    assert 1 == len(read_nmea(written(tmp_path, line)).fixes)


def test_absent_fields_are_none(tmp_path: Path) -> None:
    """Empty speed, altitude and HDOP are None, not 0, and an empty position is no position at 0, 0."""
    lines = [
        sentence("GPRMC,091200,A,4512.0000,N,01342.0000,E,,,030526,,"),
        sentence("GPGGA,091200,4512.0000,N,01342.0000,E,1,08,,,M,,M,,"),
        sentence("GPRMC,091201,A,,,,,1.0,,030526,,"),
    ]
    read = read_nmea(written(tmp_path, *lines))
    (fix,) = read.fixes

    assert (None, None, None) == (fix.speed_mps, fix.altitude_m, fix.hdop)
    assert ["track_bad_sentence"] == [issue.code for issue in read.issues]


def test_midnight_by_rmc_and_by_time_of_day(tmp_path: Path) -> None:
    """GGA has no date: it takes the one before, and a new day begins when the time of day falls back."""
    lines = [
        rmc("235958.00"),
        gga("235959.00"),
        gga("000000.00"),
        gga("000001.00"),
        rmc("000002.00", "040526"),
    ]

    assert [
        "2026-05-03T23:59:58.000Z",
        "2026-05-03T23:59:59.000Z",
        "2026-05-04T00:00:00.000Z",
        "2026-05-04T00:00:01.000Z",
        "2026-05-04T00:00:02.000Z",
    ] == times(written(tmp_path, *lines))


def test_midnight_with_gga_before_rmc(tmp_path: Path) -> None:
    """A GGA of the new day that comes before its RMC is joined with it, and takes its date."""
    lines = [gga("235959.00"), rmc("235959.00"), gga("000000.00"), rmc("000000.00", "040526")]

    assert ["2026-05-03T23:59:59.000Z", "2026-05-04T00:00:00.000Z"] == times(written(tmp_path, *lines))


def test_a_late_sentence_keeps_its_own_day(tmp_path: Path) -> None:
    """A GGA of the old day that is written after the new day's RMC stays in the old day, and misleads none after it."""
    lines = [rmc("235959.00"), rmc("000000.00", "040526"), gga("235959.50"), gga("000001.00")]

    assert [
        "2026-05-03T23:59:59.000Z",
        "2026-05-04T00:00:00.000Z",
        "2026-05-03T23:59:59.500Z",
        "2026-05-04T00:00:01.000Z",
    ] == times(written(tmp_path, *lines))


def test_the_date_of_a_receiver_without_a_fix_is_not_believed(tmp_path: Path) -> None:
    """Before its first fix a receiver may write its clock's guess, such as 6 January 1980."""
    lines = [rmc("091200.00", "060180", status="V"), gga("091201.00"), rmc("091202.00"), gga("091203.00")]
    path = written(tmp_path, *lines)

    assert ["2026-05-03T09:12:02.000Z", "2026-05-03T09:12:03.000Z"] == times(path)
    assert ["track_no_fix", "track_no_date"] == [issue.code for issue in read_nmea(path).issues]


def test_zda_gives_the_date(tmp_path: Path) -> None:
    """GGA and ZDA without RMC are enough; a fix before the first date is left out and told of."""
    lines = [
        gga("091159.00"),
        gga("091200.00"),
        sentence("GPZDA,091200.00,03,05,2026,00,00"),
        gga("091201.00"),
    ]
    path = written(tmp_path, *lines)

    assert ["2026-05-03T09:12:00.000Z", "2026-05-03T09:12:01.000Z"] == times(path)
    assert ["1 fix before the first date in the file; left out"] == [
        i.message for i in read_nmea(path).issues
    ]


@pytest.mark.parametrize(
    "body",
    [
        "GPRMC,0912,A,4512.0000,N,01342.0000,E,1.0,,030526,,",
        "GPRMC,251200,A,4512.0000,N,01342.0000,E,1.0,,030526,,",
        "GPRMC,091201,A,4512,N,01342.0000,E,1.0,,030526,,",
        "GPRMC,091201,A,9912.0000,N,01342.0000,E,1.0,,030526,,",
        "GPRMC,091201,A,4512.0000,N,01342.0000,E,1.0,,310226,,",
        "GPZDA,091201,xx,05,2026,00,00",
    ],
)
def test_malformed_fields_are_counted(body: str, tmp_path: Path) -> None:
    """A right checksum over nonsense costs that sentence only."""
    read = read_nmea(written(tmp_path, rmc("091200.00"), sentence(body), rmc("091205.00")))

    assert 2 == len(read.fixes)
    assert ["1 sentence could not be read, first in line 2; left out"] == [
        issue.message for issue in read.issues
    ]


def test_other_sentences_prefixes_and_noise_are_passed_over(tmp_path: Path) -> None:
    """Unknown and proprietary sentences, a terminal's time stamps, comments and blank lines do no harm."""
    lines = [
        "# drive of the third of May",
        "",
        sentence("PMTK010,001"),
        "$PSRF151,3F",
        sentence("GPQQQ,1,2"),
        "09:12:00.123 " + rmc("091200.00"),
        sentence("GPGSV,1,1,01,05,40,100,42"),
        "\\s:gps,c:1777800000*51\\" + gga("091200.00", talker="GN"),
    ]
    read = read_nmea(written(tmp_path, *lines))

    assert (1, ()) == (len(read.fixes), read.issues)
    assert 211.5 == read.fixes[0].altitude_m


def test_a_leap_second_is_the_next_second(tmp_path: Path) -> None:
    """23:59:60 becomes midnight."""
    assert ["2017-01-01T00:00:00.000Z"] == times(written(tmp_path, rmc("235960.00", "311216")))


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "is empty"),
        (b"time,lat,lon\r\n", "is not an NMEA 0183 log"),
        (bytes(range(256)) * 8, "is not an NMEA 0183 log"),
        (RMC.replace("*6A", "*6B").encode(), "none of 1 sentences has a right checksum"),
        (GGA.encode(), "no date; record RMC or ZDA"),
        (f"{GLL}\r\n{VTG}\r\n".encode(), "no usable fix"),
        (rmc("091200", status="V").encode(), "had no fix at 1 instant"),
    ],
)
def test_unusable_files_give_one_line(content: bytes, reason: str, tmp_path: Path) -> None:
    """What cannot be used is refused in one line that names the file, what is wrong and what to do."""
    path = tmp_path / "drive.nmea"
    path.write_bytes(content)
    with pytest.raises(TrackError, match=reason) as refusal:
        read_nmea(path)

    assert str(refusal.value).startswith(f"{path}: ")
    assert "\n" not in str(refusal.value)
