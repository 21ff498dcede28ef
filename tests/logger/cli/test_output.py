"""Data goes to standard output, or into a file that appears whole."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import BinaryIO

import pytest
from command_line import REPOSITORY, one_line_error

from logger.cli.output import write_bytes, write_text
from logger.errors import ExportError


def test_a_file_holds_what_was_written(tmp_path: Path) -> None:
    """What is written is the file's content, as UTF-8, and nothing else is left beside it."""
    write_text(str(tmp_path / "a.txt"), "5 °C\n")

    assert "5 °C\n" == (tmp_path / "a.txt").read_text(encoding="utf-8")
    assert ["a.txt"] == [path.name for path in tmp_path.iterdir()]


def test_a_failure_leaves_what_was_there(tmp_path: Path) -> None:
    """When writing fails midway, the old file is still there, and nothing half written beside it."""
    path = tmp_path / "a.txt"
    path.write_text("old")

    def fail(stream: BinaryIO) -> None:
        stream.write(b"half")
        raise OSError(28, "No space left on device")

    with pytest.raises(ExportError, match="No space left"):
        write_bytes(str(path), fail)

    assert "old" == path.read_text()
    assert ["a.txt"] == [path.name for path in tmp_path.iterdir()]


def test_a_place_that_is_not_there_is_told(tmp_path: Path) -> None:
    """A folder that does not exist is one clear error."""
    with pytest.raises(ExportError, match="cannot be written"):
        write_text(str(tmp_path / "gone" / "a.txt"), "x")


@pytest.mark.parametrize(
    ("redirection", "said"),
    [
        ("> /dev/full", "standard output cannot be written to (No space left on device)"),
        (">&-", "standard output is closed"),
    ],
)
def test_standard_output_that_takes_nothing_is_one_line(redirection: str, said: str) -> None:
    """A full disk behind a redirection, and no standard output at all, end with 2 and one line."""
    done = subprocess.run(
        ["sh", "-c", f'exec "$0" -m logger say checkpoint sixty three percent {redirection}', sys.executable],
        env=os.environ | {"PYTHONPATH": str(REPOSITORY)},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )

    assert done.returncode == 2
    assert said in one_line_error(done.stderr)
