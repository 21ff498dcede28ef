"""A drive that is there already goes with its own sheet."""

from __future__ import annotations

from pathlib import Path

import pytest

from logger.errors import SheetError, StoreError
from logger.model import Drive
from logger.store import DriveStore
from logger.wiring.existing import existing_drive, sheet_of

SHEET = 'lead = "reading"\n'


def test_none_yet(tmp_path: Path) -> None:
    """No folder, an empty one, a database whose making was interrupted: no drive; something else is an error."""
    assert existing_drive(tmp_path / "none") is None
    assert existing_drive(tmp_path) is None
    (tmp_path / "drive.sqlite").write_bytes(b"")
    assert existing_drive(tmp_path) is None
    (tmp_path / "drive.sqlite").write_bytes(b"no database at all, and long enough to be seen" * 9)
    with pytest.raises(StoreError):
        existing_drive(tmp_path)


def test_the_sheet(tmp_path: Path) -> None:
    """A new drive takes what is given; one that is there keeps its own, and another one is refused with what to do."""
    same, other = tmp_path / "same.toml", tmp_path / "other.toml"
    same.write_text(SHEET, encoding="utf-8")
    other.write_text('lead = "marker"\n', encoding="utf-8")
    DriveStore.create(tmp_path / "drive", Drive(0, SHEET)).close()
    store = existing_drive(tmp_path / "drive")

    assert store is not None
    with store:
        assert SHEET == sheet_of(store, None, "").text == sheet_of(store, same, "").text
        with pytest.raises(
            SheetError, match=r"other.toml: is not the sheet .+; leave --sheet out, or do so$"
        ):
            sheet_of(store, other, "do so")
    assert "" == sheet_of(None, None, "").text
    assert SHEET == sheet_of(None, same, "").text
