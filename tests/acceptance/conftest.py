"""The real program on real files: a short drive, and the drive that an undisturbed run makes of it."""

from __future__ import annotations

from pathlib import Path

import pytest
import short_drives
from command_line import CommandLine, ingesting
from short_drives import ShortDrive


@pytest.fixture(scope="session")
def short_drive(tmp_path_factory: pytest.TempPathFactory) -> ShortDrive:
    """75 s of sound with seven calls and a note, its track and its sheet."""
    return short_drives.make(tmp_path_factory.mktemp("short drive"))


@pytest.fixture(scope="session")
def run(tmp_path_factory: pytest.TempPathFactory) -> CommandLine:
    """Run `odovox` with these arguments in a process of its own."""
    return CommandLine(tmp_path_factory.mktemp("nowhere"))


@pytest.fixture(scope="session")
def ingested(run: CommandLine, short_drive: ShortDrive, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The drive that an undisturbed run makes of the short drive; only to be read."""
    folder = tmp_path_factory.mktemp("drives") / "undisturbed"
    done = run(*ingesting(short_drive, folder))
    assert done.returncode in {0, 1}, done.stderr
    assert "Traceback" not in done.stderr
    return folder
