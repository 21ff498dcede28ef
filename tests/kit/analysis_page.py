"""docs/analysis.md: its blocks, run one after the other. Run as a program it writes what they print below each."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from many_drives import make_drives

REPOSITORY = Path(__file__).resolve().parents[2]
PATH = REPOSITORY / "docs" / "analysis.md"
DRIVES, EVERY_S, ENTRIES = 3, 10, 100
"""The drives that the page is about: how many, a fix each so many seconds, and how many entries."""
_BLOCK = re.compile(r"(^```(sh|python)\n(.*?)^```\n)(?:\n```text\n(.*?)^```\n)?", re.DOTALL | re.MULTILINE)


def blocks() -> list[tuple[str, str, str]]:
    """Return the kind and text of each block, and what the page shows below it."""
    return [(kind, text, shown) for _, kind, text, shown in _BLOCK.findall(PATH.read_text("utf-8"))]


def prepare(folder: Path, drives: Path) -> Path:
    """Put a copy of the drives into a folder, and `odovox` and `python` on the way to it."""
    shutil.copytree(drives, folder / "drives")
    (folder / "bin").mkdir()
    for name, arguments in (("odovox", " -m logger"), ("python", "")):
        program = folder / "bin" / name
        program.write_text(f'#!/bin/sh\nexec "{sys.executable}"{arguments} "$@"\n', "utf-8")
        program.chmod(0o755)
    return folder


def run(kind: str, text: str, folder: Path) -> str:
    """Run a block in a prepared folder and return what it printed."""
    command = ["sh", "-c", text] if kind == "sh" else [sys.executable, "-c", text]
    path = f"{folder / 'bin'}{os.pathsep}{os.environ['PATH']}"
    environment = os.environ | {"PATH": path, "PYTHONPATH": str(REPOSITORY), "LC_ALL": "C.UTF-8"}
    done = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, check=False, timeout=120
    )
    assert (0, "") == (done.returncode, done.stderr)
    return done.stdout


def page(folder: Path) -> str:
    """Return the page with what its blocks print in a prepared folder."""
    printed: Iterator[str] = iter([run(kind, text, folder) for kind, text, _ in blocks()])

    def shown(found: re.Match[str]) -> str:
        text = next(printed)
        return found[1] + (f"\n```text\n{text}```\n" if text else "")

    return _BLOCK.sub(shown, PATH.read_text("utf-8"))


def main() -> None:
    """Make the drives and write the page."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        drives = make_drives(place / "made", DRIVES, every_s=EVERY_S, only=ENTRIES)
        (place / "work").mkdir()
        PATH.write_text(page(prepare(place / "work", drives)), "utf-8")


if __name__ == "__main__":
    main()
