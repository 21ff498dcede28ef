"""Which drives are meant, and what happens to the others when one cannot be read."""

from __future__ import annotations

from pathlib import Path

import pytest

from logger.errors import OdovoxError, StoreError
from logger.model import Drive
from logger.store import DriveStore
from logger.wiring.several import drive_folders, made_of_each, names_of


@pytest.fixture
def drives(tmp_path: Path) -> Path:
    """A folder that holds two drives and something else."""
    for name in ("b", "a"):
        DriveStore.create(tmp_path / name, Drive(0, "")).close()
    (tmp_path / "notes").mkdir()
    return tmp_path


def test_a_folder_stands_for_its_drives(drives: Path) -> None:
    """By their names; each counts once, and what is no drive is named as it was given."""
    assert (drives / "a", drives / "b") == drive_folders([drives])
    assert (drives / "b", drives / "a") == drive_folders([drives / "b", drives, drives / "b"])
    assert (drives / "notes", drives / "gone") == drive_folders([drives / "notes", drives / "gone"])


def test_names(drives: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A drive has its folder's name, also where only a dot was typed."""
    monkeypatch.chdir(drives / "a")

    assert ("a", "b", "a-2") == names_of([Path(), drives / "b", Path("../b/../a")])


def test_one_that_cannot_be_read_stops_no_other() -> None:
    """Of several it is told and left out; alone it is the answer; and none at all is an error."""

    def first_letter(folder: Path) -> str:
        if folder.name == "bad":
            raise StoreError("bad is bad")
        return folder.name[0]

    told: list[OdovoxError] = []

    assert ["g", "n"] == list(
        made_of_each([Path("good"), Path("bad"), Path("nice")], first_letter, told.append)
    )
    assert ["bad is bad"] == [str(each) for each in told]
    with pytest.raises(StoreError, match="bad is bad"):
        list(made_of_each([Path("bad")], first_letter, told.append))
    with pytest.raises(StoreError, match="none of the 2 drives"):
        list(made_of_each([Path("bad"), Path("bad")], first_letter, told.append))
