"""One recording at a time."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from logger.errors import StoreError
from logger.store.lock import FILE_NAME, RecordingLock, recorder_of

HOLD = """
import sys
from pathlib import Path
from logger.store.lock import RecordingLock
with RecordingLock(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


def test_the_second_is_refused_until_the_first_has_died(tmp_path: Path) -> None:
    """While another process holds it, one line names that process; after SIGKILL it is free at once."""
    folder = tmp_path / "drive"
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(folder)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert holder.stdin is not None
    assert holder.stdout is not None
    try:
        assert "held\n" == holder.stdout.readline()
        with pytest.raises(
            StoreError, match=rf"^another odovox \(process {holder.pid}\) records into .+; .+--out$"
        ):
            RecordingLock(folder)
        assert recorder_of(folder) is not None
    finally:
        holder.kill()
        holder.communicate()
    with RecordingLock(folder):
        assert f"{os.getpid()}\n" == (folder / FILE_NAME).read_text(encoding="ascii")


def test_only_the_owner_can_look(tmp_path: Path) -> None:
    """The folder that it makes and the file in it."""
    with RecordingLock(tmp_path / "new" / "drive"):
        assert 0o700 == stat.S_IMODE((tmp_path / "new" / "drive").stat().st_mode)
        assert 0o600 == stat.S_IMODE((tmp_path / "new" / "drive" / FILE_NAME).stat().st_mode)


def test_where_no_drive_can_be(tmp_path: Path) -> None:
    """A file in place of a folder, above it or at it, is one line."""
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(StoreError, match=r"file is a file; name a folder"):
        RecordingLock(tmp_path / "file")
    with pytest.raises(StoreError, match=r"cannot be written to \(Not a directory\); .+$"):
        RecordingLock(tmp_path / "file" / "drive")


def test_who_records(tmp_path: Path) -> None:
    """The process is named while it holds the lock, and asking neither makes a lock nor stands in the way of one."""
    assert recorder_of(tmp_path) is None
    assert [] == list(tmp_path.iterdir())
    with RecordingLock(tmp_path):
        assert f"process {os.getpid()}" == recorder_of(tmp_path)
    assert recorder_of(tmp_path) is None
    with RecordingLock(tmp_path):
        pass
