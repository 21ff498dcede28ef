"""The real command line in a process of its own, on a machine without a Vosk model."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import short_drives
from short_drives import ShortDrive

REPOSITORY = Path(__file__).resolve().parents[2]


def environment(nowhere: Path) -> dict[str, str]:
    """Return an environment in which no Vosk model is found; `nowhere` is an empty folder."""
    return os.environ | {
        "PYTHONPATH": str(REPOSITORY),
        "HOME": str(nowhere),
        "VOSK_MODEL_PATH": str(nowhere),
        "COLUMNS": "100",
    }


def command(*arguments: str | Path) -> list[str]:
    """Return the command that runs `odovox` with these arguments."""
    return [sys.executable, "-m", "logger", *map(str, arguments)]


class CommandLine:
    """Runs `odovox` in an empty folder."""

    def __init__(self, nowhere: Path) -> None:
        self.folder = nowhere
        self.environment = environment(nowhere)

    def __call__(self, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
        """Run it to its end and return what it wrote."""
        return subprocess.run(
            command(*arguments),
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
            cwd=self.folder,
            env=self.environment,
        )

    def start(self, *arguments: str | Path) -> subprocess.Popen[str]:
        """Start it and return the process."""
        return subprocess.Popen(
            command(*arguments),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=self.folder,
            env=self.environment,
        )


def ingesting(drive: ShortDrive, folder: Path) -> list[str | Path]:
    """Return the arguments that take a short drive into a folder."""
    return ["ingest", drive.sound, *beside(drive, folder), "--started", short_drives.STARTED]


def beside(drive: ShortDrive, folder: Path) -> list[str | Path]:
    """Return the options that go with a short drive's sound."""
    return ["--track", drive.track, "--sheet", drive.sheet, "--out", folder]


def one_line_error(stderr: str) -> str:
    """Return the one line that a failed command wrote, without what every such line begins with."""
    lines = stderr.splitlines()
    assert len(lines) == 1, stderr
    assert lines[0].startswith("odovox: error: "), stderr
    return lines[0].removeprefix("odovox: error: ")
