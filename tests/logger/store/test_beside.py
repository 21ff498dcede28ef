"""What is kept beside the database is what was put there, or nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from logger.errors import StoreError
from logger.model import Drive
from logger.store import DriveStore, beside

DRIVE = Drive(1_900_000_000_000_000_000, 'units = "metric"\n# \u00b0C\n')


def test_it_is_kept_and_read(tmp_path: Path) -> None:
    """A drive is read as it was written, for the owner's eyes only, and a second writing replaces the first."""
    beside.write(tmp_path, Drive(1, ""), "odovox 0")
    beside.write(tmp_path, DRIVE, "odovox 1")

    assert DRIVE == beside.read(tmp_path)
    assert ["drive.json"] == [path.name for path in tmp_path.iterdir()]
    assert 0o600 == (tmp_path / "drive.json").stat().st_mode & 0o777


@pytest.mark.parametrize(
    "content",
    [b"", b"{", b"[]", b'{"began_utc_ns": 1}', b'{"began_utc_ns": null, "sheet_toml": ""}', b"\xff"],
)
def test_what_cannot_be_used_is_nothing(tmp_path: Path, content: bytes) -> None:
    """A file that is damaged, or is not there, tells nothing."""
    assert beside.read(tmp_path) is None
    (tmp_path / "drive.json").write_bytes(content)
    assert beside.read(tmp_path) is None


def test_every_drive_gets_one(tmp_path: Path) -> None:
    """A new drive has it; one of an older odovox gets it when it is next opened for writing, and not when it is only read."""
    folder = tmp_path / "drive"
    DriveStore.create(folder, DRIVE).close()
    assert DRIVE == beside.read(folder)
    (folder / "drive.json").unlink()
    DriveStore.open(folder, readonly=True).close()
    assert beside.read(folder) is None
    DriveStore.open(folder).close()
    assert DRIVE == beside.read(folder)


def test_nowhere_to_write(tmp_path: Path) -> None:
    """A folder that is not there is told in one line."""
    with pytest.raises(StoreError, match=r"drive.json cannot be written \(No such file"):
        beside.write(tmp_path / "none", DRIVE, "odovox")
