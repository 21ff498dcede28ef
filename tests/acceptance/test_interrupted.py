"""An ingest that was killed or stopped is run again and comes to the log of one that was not."""

from __future__ import annotations

import csv
import signal
import sqlite3
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import CommandLine, ingesting
from short_drives import ShortDrive

from grammar import Language
from logger.core.sheet import default_sheet
from logger.recognisers.pocketsphinx_engine import PocketSphinxRecogniser
from logger.sound.clips import read_clip


def asked(folder: Path) -> list[tuple[int, int, str]]:
    """Return every recognition in a drive: its id, its utterance, its recogniser."""
    if not (folder / "drive.sqlite").exists():
        return []
    db = sqlite3.connect(f"{(folder / 'drive.sqlite').as_uri()}?mode=ro", uri=True)
    try:
        return db.execute("SELECT id, utterance_id, recogniser FROM recognition ORDER BY id").fetchall()
    except sqlite3.OperationalError:  # the tables are being made just now
        return []
    finally:
        db.close()


def interrupt(
    process: subprocess.Popen[str], folder: Path, recognitions: int, number: int
) -> tuple[str, str]:
    """Send a signal when that many stretches were recognised; return what the process wrote."""
    until = time.monotonic() + 60
    while len(asked(folder)) < recognitions:
        assert process.poll() is None, "it ended before it could be interrupted"
        assert time.monotonic() < until, "nothing was recognised"
        time.sleep(0.005)
    process.send_signal(number)
    return process.communicate(timeout=60)


def files(folder: Path) -> dict[str, bytes]:
    """Return the clips of a drive."""
    return {path.name: path.read_bytes() for path in (folder / "clips").iterdir()}


@pytest.fixture
def log(run: CommandLine) -> Callable[[Path], str]:
    """Return a drive's whole log as CSV."""
    return lambda folder: run("log", folder, "--format", "csv", "--all").stdout


def test_killed_twice_it_comes_to_the_same_log(
    run: CommandLine, short_drive: ShortDrive, ingested: Path, tmp_path: Path, log: Callable[[Path], str]
) -> None:
    """SIGKILL after two and after five stretches: the third run asks only what is left, and log and clips are equal."""
    folder = tmp_path / "killed"
    kept: list[tuple[int, int, str]] = []
    for recognitions in (2, 5):
        process = run.start(*ingesting(short_drive, folder))
        interrupt(process, folder, recognitions, signal.SIGKILL)
        assert -signal.SIGKILL == process.returncode
        now = asked(folder)
        assert kept == now[: len(kept)]
        kept = now
    assert len(kept) < len(asked(ingested))

    done = run(*ingesting(short_drive, folder))

    assert done.returncode in {0, 1}, done.stderr
    assert kept == asked(folder)[: len(kept)]
    assert asked(ingested) == asked(folder)
    assert log(ingested) == log(folder)
    assert files(ingested) == files(folder)


def test_ctrl_c_is_one_line_and_loses_nothing(
    run: CommandLine, short_drive: ShortDrive, ingested: Path, tmp_path: Path, log: Callable[[Path], str]
) -> None:
    """SIGINT ends with 130 and one line that says what to do; what was heard is logged, and a further run ends the job."""
    folder = tmp_path / "stopped"
    process = run.start(*ingesting(short_drive, folder))

    stdout, stderr = interrupt(process, folder, 3, signal.SIGINT)

    assert 130 == process.returncode
    assert "" == stdout
    assert [line for line in stderr.splitlines() if "stopped" in line] == stderr.splitlines()[-1:]
    assert "Traceback" not in stderr
    # How sure a reading is depends on those that follow, so only what was heard is the same yet.
    stopped, whole = (
        {row["entry_id"]: row["at"] for row in csv.DictReader(log(each).splitlines())}
        for each in (folder, ingested)
    )
    assert 0 < len(stopped) < len(whole)
    assert stopped.items() <= whole.items()
    run(*ingesting(short_drive, folder))
    assert log(ingested) == log(folder)


def test_run_twice_it_doubles_nothing(
    run: CommandLine, short_drive: ShortDrive, ingested: Path, log: Callable[[Path], str]
) -> None:
    """The same command again recognises nothing anew, and the log is the same."""
    before, recognitions = log(ingested), asked(ingested)

    done = run(*ingesting(short_drive, ingested))

    assert done.returncode in {0, 1}
    assert "is in the drive already" in done.stderr
    assert before == log(ingested)
    assert recognitions == asked(ingested)


def test_a_stretch_is_heard_the_same_in_any_order(ingested: Path) -> None:
    """The default recogniser's answers do not depend on what it heard before, or going on could not give the same log."""
    recogniser = PocketSphinxRecogniser(Language(default_sheet().phrasebook))
    clips = [read_clip(path) for path in sorted((ingested / "clips").iterdir())]

    forwards = [recogniser.recognise(clip) for clip in clips]
    backwards = [recogniser.recognise(clip) for clip in reversed(clips)]

    assert forwards == backwards[::-1]
