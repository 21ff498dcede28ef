"""The folder of a drive, on the real disk."""

from __future__ import annotations

from pathlib import Path

import pytest

from logger.core.fitness.findings import Check, State
from logger.model import Drive
from logger.store import DriveStore
from logger.wiring.checking.storing import check_storing


def test_a_new_folder(tmp_path: Path) -> None:
    """A folder that is not there yet is judged by the one above it, and nothing is left behind."""
    folder, disk = check_storing(tmp_path / "a" / "b", 1.0)

    assert (State.OK, State.OK) == (folder.state, disk.state)
    assert f"{tmp_path / 'a' / 'b'} can be written to" == folder.what
    assert [] == list(tmp_path.iterdir())


def test_a_drive_is_there(tmp_path: Path) -> None:
    """A folder that holds a drive is a warning, and the drive is as it was."""
    with DriveStore.create(tmp_path / "drive", Drive(0, "")):
        pass
    before = sorted(path.name for path in (tmp_path / "drive").iterdir())
    folder, _ = check_storing(tmp_path / "drive", 1.0)

    assert State.WARNING is folder.state
    assert "holds a drive already" in folder.what
    assert before == sorted(path.name for path in (tmp_path / "drive").iterdir())


@pytest.mark.parametrize("place", ["/proc/drive", "/sys/drive", "file/drive", "file", "broken/drive"])
def test_where_nobody_may_write(place: str, tmp_path: Path) -> None:
    """File systems that even root cannot write to, a file in the way, and a link to nowhere."""
    (tmp_path / "file").write_bytes(b"x")
    (tmp_path / "broken").symlink_to(tmp_path / "nowhere")
    folder, disk = check_storing(tmp_path / place, 1.0)

    assert (State.FAILED, State.UNTRIED) == (folder.state, disk.state)
    assert "cannot be written to (" in folder.what
    assert "--out" in folder.todo
    assert Check.DISK is disk.check
