"""A sheet's file: read, kept as text, and refused by name."""

from __future__ import annotations

from pathlib import Path

import pytest

from logger.core.sheet import default_sheet
from logger.errors import SheetError
from logger.wiring.sheets import load_sheet, sheet_from


def test_no_sheet_is_the_default() -> None:
    """No file and no text mean the default sheet."""
    assert default_sheet() == load_sheet(None).sheet == sheet_from("").sheet
    assert "" == load_sheet(None).text


def test_a_sheet_keeps_its_text(tmp_path: Path) -> None:
    """The text is what the file says, without a byte order mark, and means what it says."""
    path = tmp_path / "sheet.toml"
    path.write_bytes('\ufefflead = "reading"\n'.encode())

    sheet = load_sheet(path)

    assert 'lead = "reading"\n' == sheet.text
    assert "reading" == sheet.sheet.phrasebook.lead


@pytest.mark.parametrize(
    ("content", "what"), [(b"\xff\xff", "no UTF-8"), (b"lead = 3\n", ":1: lead"), (None, "no such sheet")]
)
def test_a_bad_sheet_is_named(content: bytes | None, what: str, tmp_path: Path) -> None:
    """What cannot be read or understood names the file."""
    path = tmp_path / "sheet.toml"
    if content is not None:
        path.write_bytes(content)

    with pytest.raises(SheetError, match=what) as caught:
        load_sheet(path)

    assert str(caught.value).startswith(str(path))


def test_a_folder_is_no_sheet(tmp_path: Path) -> None:
    """A folder in place of a sheet is told as such."""
    with pytest.raises(SheetError, match="cannot be read"):
        load_sheet(tmp_path)
