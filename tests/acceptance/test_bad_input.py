"""Whatever is wrong with the input: one clear line and exit code 2, or something told and logged; never a traceback.

Run in this process where the command ends before it listens, in one of its own where it does listen.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import short_drives
import simulated_drives
import soundfile
from click.testing import CliRunner, Result
from command_line import CommandLine, beside, one_line_error
from short_drives import ShortDrive

from logger.cli import odovox
from logger.model import Fix

RATE_HZ = 16_000


@pytest.fixture
def drive(short_drive: ShortDrive, ingested: Path, tmp_path: Path) -> Path:
    """A drive with entries, which bad input must leave as it is."""
    return Path(shutil.copytree(ingested, tmp_path / "drive with entries"))


def invoke(*arguments: str | Path) -> Result:
    """Run `odovox` with these arguments in this process."""
    return CliRunner().invoke(odovox, [str(argument) for argument in arguments])


def refused(*arguments: str | Path) -> str:
    """Run `odovox`, which must end with 2 and write one line and no data; return the line."""
    result = invoke(*arguments)
    assert 2 == result.exit_code, result.output
    assert "" == result.stdout
    return one_line_error(result.stderr)


def state(folder: Path) -> tuple[str, dict[str, bytes]]:
    """Return all that a drive holds: its database as SQL text, and its clips."""
    db = sqlite3.connect(folder / "drive.sqlite")
    try:
        text = "\n".join(db.iterdump())
    finally:
        db.close()
    return text, {path.name: path.read_bytes() for path in (folder / "clips").iterdir()}


def empty(path: Path) -> None:
    """Write nothing."""
    path.write_bytes(b"")


def header_only(path: Path) -> None:
    """Write a WAV file without a sample."""
    soundfile.write(path, np.zeros(0, np.int16), RATE_HZ, format="WAV", subtype="PCM_16")


def prose(path: Path) -> None:
    """Write text."""
    path.write_text("This is a shopping list, not sound.\n" * 100)


def phone_sound(path: Path) -> None:
    """Write the beginning of an MPEG-4 file (ISO/IEC 14496-12: size, then ftyp)."""
    path.write_bytes(b"\x00\x00\x00\x18ftypM4A " + bytes(4000))


def nothing_but_flac_header(path: Path) -> None:
    """Write a FLAC file cut off within its header (42 bytes hold the mark and STREAMINFO, RFC 9639)."""
    soundfile.write(path, np.zeros(RATE_HZ, np.int16), RATE_HZ, format="FLAC")
    path.write_bytes(path.read_bytes()[:42])


BROKEN_SOUND = (empty, header_only, prose, phone_sound, nothing_but_flac_header)


@pytest.mark.parametrize("make", BROKEN_SOUND)
def test_a_file_without_sound_is_refused(
    make: Callable[[Path], None], short_drive: ShortDrive, drive: Path, tmp_path: Path
) -> None:
    """A file in which there is no sound to read is named, and an existing drive stays byte for byte what it was."""
    sound = tmp_path / "broken.wav"
    make(sound)
    before = state(drive)
    for folder in (tmp_path / "new", drive):
        message = refused("ingest", sound, *beside(short_drive, folder), "--started", "2026-05-03T09:20:10Z")

        assert str(sound) in message

    assert before == state(drive)


def test_a_missing_sound_is_named(short_drive: ShortDrive, tmp_path: Path) -> None:
    """A sound file that is not there, or a folder in its place, is named, and no drive is made."""
    folder = tmp_path / "new"
    assert "no such file" in refused("ingest", tmp_path / "gone.wav", *beside(short_drive, folder))
    assert "is a folder" in refused("ingest", tmp_path, *beside(short_drive, folder))
    assert not folder.exists()


def test_a_broken_second_file_is_told_before_the_first_is_listened_to(
    short_drive: ShortDrive, tmp_path: Path
) -> None:
    """When one of two files is broken, that is the first thing said, and no drive is made."""
    broken = tmp_path / "broken.flac"
    nothing_but_flac_header(broken)

    message = refused("ingest", short_drive.sound, broken, *beside(short_drive, tmp_path / "new"))

    assert str(broken) in message
    assert not (tmp_path / "new").exists()


def test_a_truncated_recording_gives_what_there_is(
    run: CommandLine, short_drive: ShortDrive, tmp_path: Path
) -> None:
    """A WAV file cut off in the middle is told and logged as far as it goes; the exit code asks for a human."""
    whole = tmp_path / "whole.wav"
    soundfile.write(whole, soundfile.read(short_drive.sound, dtype="int16")[0], RATE_HZ, subtype="PCM_16")
    cut = tmp_path / "cut.wav"
    cut.write_bytes(whole.read_bytes()[: 44 + 2 * RATE_HZ * 20])
    folder = tmp_path / "new"

    done = run("ingest", cut, *beside(short_drive, folder), "--started", short_drives.STARTED)

    assert 1 == done.returncode
    assert "note: cut.wav is cut off" in done.stderr
    assert "Traceback" not in done.stderr
    rows = [json.loads(line) for line in run("log", folder, "--format", "jsonl").stdout.splitlines()]
    assert {"charge", "trip"} == {row["quantity"] for row in rows}
    assert 20 > max(row["elapsed_s"] for row in rows)


def test_silence_and_clipping_are_told(run: CommandLine, short_drive: ShortDrive, tmp_path: Path) -> None:
    """A silent file gives no entry and a clipped one what can be heard; both are told, and ask for a human."""
    sound = soundfile.read(short_drive.sound, dtype="int16")[0][: RATE_HZ * 12]
    silent, clipped = tmp_path / "silent.wav", tmp_path / "clipped.wav"
    soundfile.write(silent, np.zeros_like(sound), RATE_HZ)
    soundfile.write(clipped, np.clip(sound * 60.0, -32768, 32767).astype(np.int16), RATE_HZ)

    quiet = run("ingest", silent, *beside(short_drive, tmp_path / "quiet"))
    loud = run("ingest", clipped, *beside(short_drive, tmp_path / "loud"))

    assert (1, 1) == (quiet.returncode, loud.returncode)
    assert "silent.wav is silent" in quiet.stderr
    assert "no entries" in quiet.stderr
    assert 1 == len(run("log", tmp_path / "quiet", "--format", "csv").stdout.splitlines())
    assert "clipped.wav is clipped" in loud.stderr
    assert "Traceback" not in quiet.stderr + loud.stderr


BROKEN_TRACKS = {
    "empty": "",
    "no format": "a day at the sea\n",
    "no time": short_drives.gpx([]).replace(
        "<trkseg>\n", '<trkseg><trkpt lat="45.0" lon="13.0"></trkpt><trkpt lat="45.1" lon="13.0"></trkpt>'
    ),
    "no point": short_drives.gpx([]),
    "cut off": short_drives.gpx([])[:120],
}


@pytest.mark.parametrize("content", BROKEN_TRACKS.values(), ids=BROKEN_TRACKS.keys())
def test_a_track_that_says_nothing_is_refused(
    content: str, short_drive: ShortDrive, drive: Path, tmp_path: Path
) -> None:
    """A track without a fix that has a time is named; an existing drive stays what it was, a new one is not made."""
    track = tmp_path / "odd.gpx"
    track.write_text(content)
    before = state(drive)

    assert str(track) in refused("ingest", short_drive.sound, "--track", track, "--out", drive)
    assert str(track) in refused("ingest", short_drive.sound, "--track", track, "--out", tmp_path / "new")
    assert before == state(drive)
    assert not (tmp_path / "new").exists()


def test_a_missing_track_is_named(short_drive: ShortDrive, tmp_path: Path) -> None:
    """A track that is not there is named, and no drive is made."""
    track = tmp_path / "gone.gpx"
    assert str(track) in refused("ingest", short_drive.sound, "--track", track, "--out", tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_track_of_another_day_is_refused(short_drive: ShortDrive, drive: Path) -> None:
    """A track that meets no sound is refused with both spans of time, whether the drive is new or not."""
    before = state(drive)
    for folder in (drive, drive.parent / "new"):
        message = (
            refused(
                "ingest",
                short_drive.sound,
                "--track",
                short_drive.track,
                "--started",
                "2026-05-04T09:20:00Z",
                "--sheet",
                short_drive.sheet,
                "--out",
                folder,
            )
            if folder != drive
            else refused("ingest", "--track", _shifted(short_drive, drive.parent), "--out", drive)
        )

        assert "is from another time" in message
        assert message.count("2026-05-03T09:2") == 2
        assert message.count("2026-05-04T09:2") == 2
    assert before == state(drive)


def _shifted(short_drive: ShortDrive, folder: Path) -> Path:
    """Return the drive's track a day later."""
    path = folder / "another day.gpx"
    path.write_text(short_drive.track.read_text().replace("2026-05-03", "2026-05-04"))
    return path


def test_a_track_with_faults_is_used_as_far_as_it_goes(
    run: CommandLine, short_drive: ShortDrive, ingested: Path, tmp_path: Path
) -> None:
    """A track out of order, with a gap, that ends early: told; what is said beyond its end has no place."""
    fixes, _ = simulated_drives.drive(
        simulated_drives.constant(short_drives.SPEED_MPS), 45, simulated_drives.Noise()
    )
    odd: list[Fix] = [*fixes[40:], *fixes[:10], *fixes[25:40]]
    track = tmp_path / "odd.gpx"
    track.write_text(short_drives.gpx(odd))
    folder = tmp_path / "new"

    done = run(
        "ingest",
        short_drive.sound,
        "--track",
        track,
        "--sheet",
        short_drive.sheet,
        "--out",
        folder,
        "--started",
        short_drives.STARTED,
    )

    assert done.returncode in {0, 1}
    assert "Traceback" not in done.stderr
    assert "order" in done.stderr
    assert "no fix for 16 s" in done.stderr
    assert "ends 31 s after the track" in done.stderr
    rows = [json.loads(line) for line in run("log", folder, "--format", "jsonl").stdout.splitlines()]
    whole = [json.loads(line) for line in run("log", ingested, "--format", "jsonl").stdout.splitlines()]
    assert [row["at"] for row in whole] == [row["at"] for row in rows]
    for row in rows:
        assert (row["lat_deg"] is None) == (row["elapsed_s"] > 47)


def test_a_sheet_with_a_typo_is_refused(short_drive: ShortDrive, tmp_path: Path) -> None:
    """A sheet's mistake is told with line and key, by every command that takes one."""
    sheet = tmp_path / "my sheet.toml"
    sheet.write_text('units = "miles"\n\n[quantity.charge]\nlowset = 5\n')
    for arguments in (
        ("ingest", short_drive.sound, "--track", short_drive.track, "--out", tmp_path / "new"),
        ("phrases",),
        ("say", "checkpoint"),
    ):
        message = refused(*arguments, "--sheet", sheet)

        assert f"{sheet}:4: " in message
        assert "lowset" in message
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    "content", [b"units = miles\n", b"\xff\xfe\x00", None], ids=["no TOML", "no text", "missing"]
)
def test_a_sheet_that_cannot_be_read_is_refused(content: bytes | None, tmp_path: Path) -> None:
    """A sheet that is no TOML, no text or not there is named."""
    sheet = tmp_path / "sheet.toml"
    if content is not None:
        sheet.write_bytes(content)

    assert str(sheet) in refused("phrases", "--sheet", sheet)


def test_another_sheet_for_the_same_drive_is_refused(
    short_drive: ShortDrive, drive: Path, tmp_path: Path
) -> None:
    """A drive keeps its sheet: another is refused, and the drive stays what it was."""
    sheet = tmp_path / "other.toml"
    sheet.write_text('units = "miles"\n')
    before = state(drive)

    assert "is not the sheet" in refused("ingest", short_drive.sound, "--sheet", sheet, "--out", drive)
    assert before == state(drive)


def test_a_folder_that_is_no_drive_is_refused(short_drive: ShortDrive, tmp_path: Path) -> None:
    """A file, another program's database, a folder without a drive and one that is not there are told apart."""
    file = tmp_path / "file"
    file.write_text("x")
    foreign = tmp_path / "foreign"
    foreign.mkdir()
    db = sqlite3.connect(foreign / "drive.sqlite")
    db.execute("CREATE TABLE shopping (item TEXT)")
    db.close()
    ingest = (
        "ingest",
        short_drive.sound,
        "--track",
        short_drive.track,
        "--recogniser",
        "pocketsphinx",
        "--out",
    )

    assert "some other program's database" in refused(*ingest, foreign)
    assert "is a file" in refused("log", file)
    empty = tmp_path / "empty"
    empty.mkdir()
    assert "is not a drive folder" in refused("log", empty)
    assert "does not exist" in refused("reconcile", tmp_path / "gone")
    assert "is a file" in refused(*ingest, file)
    assert ["drive.sqlite"] == [path.name for path in foreign.iterdir()]


def test_a_folder_that_may_not_be_written_is_refused(
    run: CommandLine, short_drive: ShortDrive, tmp_path: Path
) -> None:
    """Where nobody may write, that is said (/sys is closed to root as well)."""
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o555)
    place = Path("/sys") if os.geteuid() == 0 else closed

    done = run("ingest", short_drive.sound, *beside(short_drive, place / "new"))

    assert 2 == done.returncode
    assert f"odovox: error: {place / 'new'} cannot be made a drive folder" in done.stderr
    assert "Traceback" not in done.stderr


def test_wrong_usage_is_one_line(short_drive: ShortDrive, tmp_path: Path) -> None:
    """Wrong usage ends with 2 and one line that says where help is."""
    out = ("--out", tmp_path / "new")
    sound, track = short_drive.sound, ("--track", short_drive.track)

    assert "odovox ingest --help" in refused("ingest", sound)
    assert "nothing to take in" in refused("ingest", *out)
    assert "no zone" in refused("ingest", sound, *track, *out, "--started", "2026-05-03T09:20:00")
    assert "2 times" in refused(
        "ingest", sound, *track, *out, "--started", short_drives.STARTED, "--started", short_drives.STARTED
    )
    assert "--started" in refused("ingest", sound, *out)
    assert "after 2116" in refused("ingest", sound, *out, "--started", "2117-01-01T00:00:00Z")
    assert "odovox --help" in refused("drive")
    assert "choose one" in refused("log", tmp_path, "--wide", "--all")
    assert "--model names a Vosk model" in refused(
        "ingest", sound, *track, *out, "--recogniser", "pocketsphinx", "--model", tmp_path
    )
    assert "no such folder" in refused("ingest", sound, *track, *out, "--model", tmp_path / "gone")
    assert not (tmp_path / "new").exists()


def test_a_sound_cannot_be_placed_twice(short_drive: ShortDrive, drive: Path) -> None:
    """Sound that the drive has is refused at another time, and other sound needs --started: nothing is guessed."""
    before = state(drive)
    other = drive.parent / "other.flac"
    soundfile.write(other, np.zeros(RATE_HZ, np.int16), RATE_HZ)

    moved = refused("ingest", short_drive.sound, "--started", "2026-05-03T09:20:01Z", "--out", drive)
    assert "in this drive already, as begun at 2026-05-03T09:20:00.000Z" in moved
    assert "give --started" in refused("ingest", other, "--out", drive)
    assert "named twice" in refused("ingest", other, other, "--started", short_drives.STARTED, "--out", drive)
    assert before == state(drive)
