"""docs/analysis.md is true: each of its blocks runs, in order and in one folder, and prints what is shown below it."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[1]
PAGE = REPOSITORY / "docs" / "analysis.md"
BLOCKS = re.findall(
    r"^```(sh|python)\n(.*?)^```\n(?:\n```text\n(.*?)^```\n)?",
    PAGE.read_text("utf-8"),
    re.DOTALL | re.MULTILINE,
)


@pytest.fixture(scope="module")
def folder(light_drives: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the drives, and `odovox` and `python` on the way to it."""
    folder = tmp_path_factory.mktemp("analysis")
    shutil.copytree(light_drives, folder / "drives")
    (folder / "bin").mkdir()
    for name, arguments in (("odovox", " -m logger"), ("python", "")):
        (folder / "bin" / name).write_text(f'#!/bin/sh\nexec "{sys.executable}"{arguments} "$@"\n', "utf-8")
        (folder / "bin" / name).chmod(0o755)
    return folder


def run(kind: str, text: str, folder: Path) -> str:
    """Run a block and return what it printed."""
    command = ["sh", "-c", text] if kind == "sh" else [sys.executable, "-c", text]
    path = f"{folder / 'bin'}{os.pathsep}{os.environ['PATH']}"
    environment = os.environ | {"PATH": path, "PYTHONPATH": str(REPOSITORY), "LC_ALL": "C.UTF-8"}
    done = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, check=False, timeout=120
    )
    assert (0, "") == (done.returncode, done.stderr)
    return done.stdout


def test_every_block_prints_what_is_shown(folder: Path) -> None:
    """One after the other, as a reader would; blocks that print nothing have nothing below them."""
    assert {"sh", "python"} == {kind for kind, _, _ in BLOCKS}
    assert PAGE.read_text("utf-8").count("\n```sh\n") + PAGE.read_text("utf-8").count("\n```python\n") == len(
        BLOCKS
    )
    for kind, text, shown in BLOCKS:
        assert shown == run(kind, text, folder), text
