"""Recorded sound and a track become a clean log, with the real recogniser, through the real command line."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

import pyarrow.parquet
import short_drives
import soundfile
from command_line import CommandLine, command
from geographiclib.geodesic import Geodesic
from short_drives import ShortDrive

from logger.tracks import read_track

Row = dict[str, str]
RATE_HZ = 16_000


def log_rows(run: CommandLine, folder: Path, *options: str) -> list[Row]:
    """Return the rows of a drive's log."""
    done = run("log", folder, "--format", "csv", *options)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return list(csv.DictReader(io.StringIO(done.stdout, newline="")))


def readings(rows: Iterable[Row]) -> list[tuple[str, str, str]]:
    """Return the readings in rows, without notes."""
    return [(row["quantity"], row["value"], row["unit"]) for row in rows if row["value"]]


def test_what_was_said_is_in_the_log(run: CommandLine, ingested: Path, short_drive: ShortDrive) -> None:
    """At least 12 of the 14 readings of a clear voice are logged as they were said, and nothing else is accepted."""
    said = [tuple(each) for truth in short_drive.truth for each in truth.truth]

    rows = log_rows(run, ingested)

    logged = readings(rows)
    assert 12 <= sum(each in logged for each in said)
    assert [] == [each for each in readings(r for r in rows if r["status"] == "accepted") if each not in said]


def test_a_note_is_in_the_log(run: CommandLine, ingested: Path) -> None:
    """A spoken note is a row of its own, with its kind."""
    assert ["headwind"] == [row["note"] for row in log_rows(run, ingested) if row["quantity"] == "note"]


def test_readings_are_placed_when_their_first_word_was_spoken(
    run: CommandLine, ingested: Path, short_drive: ShortDrive
) -> None:
    """The first reading of each call begins after the lead word, within 1.2 s of the call's first sound."""
    began = [truth.first_sample / RATE_HZ for truth in short_drive.truth if truth.truth]

    firsts = [float(row["elapsed_s"]) for row in log_rows(run, ingested) if row["entry_id"].endswith("-1")]

    assert len(began) <= len(firsts)
    for at_s in began:
        assert any(at_s + 0.2 < first < at_s + 1.2 for first in firsts), (at_s, firsts)


def test_readings_are_placed_on_the_track(run: CommandLine, ingested: Path, short_drive: ShortDrive) -> None:
    """A row's position is where the track was at its time (checked by geographiclib), its distance what was driven."""
    fixes = read_track(short_drive.track).fixes
    for row in log_rows(run, ingested):
        at = datetime.fromisoformat(row["at"])
        assert at.tzinfo == UTC
        nearest = min(fixes, key=lambda fix: abs(fix.utc_ns / 1e9 - at.timestamp()))
        apart = Geodesic.WGS84.Inverse(
            nearest.lat_deg, nearest.lon_deg, float(row["lat_deg"]), float(row["lon_deg"])
        )

        assert apart["s12"] < 0.6 * short_drives.SPEED_MPS
        driven_km = short_drives.SPEED_MPS * float(row["elapsed_s"]) / 1000
        assert abs(driven_km - float(row["gps_distance_km"])) < 0.01


def test_the_sound_of_each_call_is_kept(run: CommandLine, ingested: Path, short_drive: ShortDrive) -> None:
    """Each entry names a FLAC clip that holds the call's sound: the very samples of the recording."""
    recording = soundfile.read(short_drive.sound, dtype="int16")[0]
    for row in log_rows(run, ingested, "--all"):
        clip, rate_hz = soundfile.read(ingested / row["clip"], dtype="int16")
        first = int(Path(row["clip"]).stem.split("-")[1])

        assert rate_hz == RATE_HZ
        assert (recording[first : first + len(clip)] == clip).all()
        truth = next(each for each in short_drive.truth if each.first_sample < first + len(clip))
        spoken = next(
            (each for each in short_drive.truth if first <= each.first_sample < first + len(clip)), truth
        )
        assert first <= spoken.first_sample
        assert spoken.end_sample <= first + len(clip)


def test_every_format_holds_the_same_rows(run: CommandLine, ingested: Path, tmp_path: Path) -> None:
    """CSV, JSON lines, Parquet (read by pyarrow) and the table for people agree on the entries."""
    ids = [row["entry_id"] for row in log_rows(run, ingested)]
    lines = run("log", ingested, "--format", "jsonl").stdout.splitlines()
    parquet = tmp_path / "log.parquet"
    assert run("log", ingested, "--format", "parquet", "-o", parquet).returncode == 0
    table = run("log", ingested, "--format", "table").stdout

    assert ids == [json.loads(line)["entry_id"] for line in lines]
    assert ids == pyarrow.parquet.read_table(parquet).column("entry_id").to_pylist()
    assert ids == [line.split()[0] for line in table.splitlines()[2:]]


def test_one_row_per_checkpoint_in_miles(run: CommandLine, ingested: Path) -> None:
    """`--wide --units mi` gives a row for each call, the trip in miles (1 mi = 1.609344 km, NIST SP 811)."""
    long, wide = log_rows(run, ingested), log_rows(run, ingested, "--wide", "--units", "mi")

    assert len({row["entry_id"].split("-")[0] for row in long}) == len(wide)
    said = {row["entry_id"].split("-")[0]: row for row in long if row["quantity"] == "trip"}
    for row in wide:
        if row["trip_mi"]:
            assert abs(float(said[row["checkpoint"]]["value"]) / 1.609344 - float(row["trip_mi"])) < 0.05


def test_a_reader_that_has_had_enough_is_no_error(run: CommandLine, ingested: Path) -> None:
    """`odovox log | head -1` ends quietly: nothing on stderr, exit code 0."""
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = subprocess.run(
            command("log", ingested, "--format", "jsonl", "--all"),
            stdout=writer,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            cwd=run.folder,
            env=run.environment,
        )
    finally:
        os.close(writer)

    assert "" == done.stderr
    assert 0 == done.returncode


def test_reconcile_makes_the_same_entries(run: CommandLine, ingested: Path, tmp_path: Path) -> None:
    """Reconciling a drive again, with nothing new in it, changes nothing in the log."""
    copy = tmp_path / "copy"
    subprocess.run(["cp", "-r", ingested, copy], check=True)
    before = run("log", copy, "--format", "csv", "--all").stdout

    done = run("reconcile", copy)

    assert done.returncode in {0, 1}
    assert done.stdout == ""
    assert before == run("log", copy, "--format", "csv", "--all").stdout


def test_help_is_quick(run: CommandLine) -> None:
    """`odovox --help` imports none of the heavy libraries, which is what keeps it under 0.3 s."""
    heavy = [
        "numpy",
        "pandas",
        "pyarrow",
        "soundfile",
        "soxr",
        "vosk",
        "pocketsphinx",
        "gpxpy",
        "sqlite3",
        "sounddevice",
        "rapidfuzz",
    ]
    done = subprocess.run(
        [*command()[:1], "-X", "importtime", *command("--help")[1:]],
        capture_output=True,
        text=True,
        check=True,
        env=run.environment,
        cwd=run.folder,
    )

    imported = {line.rsplit("|", 1)[-1].strip() for line in done.stderr.splitlines() if "|" in line}
    assert "logger.cli.group" in imported
    assert set() == imported.intersection(heavy)
