"""Results kept beside a drive count only while the drive is to the byte what they were made from."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from logger.errors import StoreError
from logger.model import Drive, Issue
from logger.store import DriveStore
from logger.store.kept_results import KEPT_NAME, content_of, keep, read_kept


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A drive."""
    DriveStore.create(tmp_path / "drive", Drive(0, "")).close()
    return tmp_path / "drive"


def test_it_comes_back_for_just_this_content(folder: Path) -> None:
    """For another content, and where what is there is no such file, there is nothing."""
    keep(folder, "a", "text ü")

    assert "text ü" == read_kept(folder, "a")
    assert read_kept(folder, "b") is None
    for broken in ("", "{}", "[1]", '{"made_from": "a", "text": 3}'):
        (folder / KEPT_NAME).write_text(broken, "utf-8")
        assert read_kept(folder, "a") is None


def test_any_change_of_the_drive_is_seen(folder: Path) -> None:
    """Also one that waits in the write-ahead log, before and after the file is closed; reading changes nothing."""
    first = content_of(folder)
    with DriveStore.open(folder, readonly=True) as store:
        store.issues()
    assert first == content_of(folder)
    with DriveStore.open(folder) as store:
        store.add_issue(Issue("track_gap", "a gap"))
        waiting = content_of(folder)
    assert 3 == len({first, waiting, content_of(folder)})


def test_a_copy_is_the_same(folder: Path, tmp_path: Path) -> None:
    """What was kept goes with the folder wherever it goes."""
    keep(folder, content_of(folder), "text")
    copy = Path(shutil.copytree(folder, tmp_path / "copy"))

    assert "text" == read_kept(copy, content_of(copy))


def test_it_is_as_private_as_the_drive(folder: Path) -> None:
    """Nobody else may read it, and nothing unfinished is left."""
    keep(folder, "a", "text")

    assert 0o600 == (folder / KEPT_NAME).stat().st_mode & 0o777
    assert [] == list(folder.glob(".*"))


def test_where_it_cannot_be_written_it_is_not_kept(folder: Path) -> None:
    """A folder in its place stands for a disk that may not be written; what cannot be read at all is told."""
    (folder / KEPT_NAME).mkdir()
    keep(folder, "a", "text")
    assert read_kept(folder, "a") is None
    assert [] == list(folder.glob(".*"))
    (folder / "drive.sqlite").unlink()
    (folder / "drive.sqlite").mkdir()
    with pytest.raises(StoreError, match="cannot be read"):
        content_of(folder)
