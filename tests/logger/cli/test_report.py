"""`odovox report`: forms, places to write to, exit codes, and one clear line for what goes wrong."""

from __future__ import annotations

import json
import os
import pty
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from called_drives import BEGAN, CalledDrive, charges
from click.testing import Result
from command_line import command, environment
from reviewed_drives import store_called, straight_fixes

from logger.model import Drive
from logger.store import DriveStore

Invoke = Callable[..., Result]
KEYS = {"charge", "projected", "way"}


@pytest.fixture(scope="module")
def settled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive in which nothing is in doubt; only to be read."""
    called = CalledDrive()
    charges(called, list(range(90, 70, -1)))
    folder = tmp_path_factory.mktemp("drives") / "loop"
    store_called(folder, called, fixes=straight_fixes(4000), clips=False)
    with DriveStore.open(folder) as store:
        store.finish_source(store.sources()[0].id, 16_000 * 4000)
    return folder


def error(result: Result) -> str:
    """The one line of a failed command."""
    assert 2 == result.exit_code, result.stderr
    lines = result.stderr.splitlines()
    assert 1 == len(lines)
    return lines[0].removeprefix("odovox: error: ")


def test_a_file_by_its_ending(invoke: Invoke, settled: Path, tmp_path: Path) -> None:
    """html, md and json go by the file's name; nothing is written to standard output."""
    for name, begins in (
        ("a.html", "<!DOCTYPE html>"),
        ("a.MD", "# loop"),
        ("a.json", "{"),
        ("a", "<!DOCTYPE html>"),
    ):
        result = invoke("report", settled, "-o", tmp_path / name)
        assert (0, "") == (result.exit_code, result.stdout)
        assert (tmp_path / name).read_text(encoding="utf-8").startswith(begins)
        assert f"{name} is written" in result.stderr


def test_standard_output(invoke: Invoke, settled: Path) -> None:
    """HTML where nothing else is said; the format wins over everything."""
    assert invoke("report", settled).stdout.startswith("<!DOCTYPE html>")
    assert "loop" == json.loads(invoke("report", settled, "--format", "json").stdout)["drive"]["name"]
    text = invoke("report", settled, "--format", "md", "--units", "mi").stdout
    assert "| After | GPS distance (mi) | Charge (%) |" in text


def test_doubts_make_1(invoke: Invoke, doubtful: Path, tmp_path: Path) -> None:
    """The report is written all the same, and how to settle them is said."""
    result = invoke("report", doubtful, "-o", tmp_path / "r.json")
    assert 1 == result.exit_code
    assert (
        f"3 entries are in doubt and count for nothing; settle with `odovox review {doubtful}`"
        in result.stderr
    )
    assert not json.loads((tmp_path / "r.json").read_text(encoding="utf-8"))["settled"]


def test_charts(invoke: Invoke, settled: Path, tmp_path: Path) -> None:
    """Each chart becomes a file, and Markdown shows those files."""
    result = invoke("report", settled, "-o", tmp_path / "r.md", "--charts", tmp_path / "my charts" / "of it")
    assert 0 == result.exit_code, result.stderr
    written = {path.name for path in (tmp_path / "my charts" / "of it").iterdir()}
    assert {f"{key}.svg" for key in KEYS} <= written
    assert "](my%20charts/of%20it/charge.svg)" in (tmp_path / "r.md").read_text(encoding="utf-8")

    invoke("report", settled, "--format", "json", "--charts", tmp_path / "png", "--chart-format", "png")
    assert (tmp_path / "png" / "way.png").read_bytes().startswith(b"\x89PNG")


def test_a_terminal_gets_markdown_and_never_html(settled: Path, tmp_path: Path) -> None:
    """On a real terminal."""
    shown, code = _on_a_terminal("report", settled, nowhere=tmp_path)
    assert (0, True) == (code, "# loop: what the drive came to" in shown)
    shown, code = _on_a_terminal("report", settled, "--format", "html", nowhere=tmp_path)
    assert (2, False) == (code, "<html" in shown)


def _on_a_terminal(*arguments: str | Path, nowhere: Path) -> tuple[str, int]:
    ours, theirs = pty.openpty()
    running = subprocess.Popen(
        command(*arguments), stdout=theirs, stderr=subprocess.DEVNULL, env=environment(nowhere), cwd=nowhere
    )
    os.close(theirs)
    shown = b""
    try:
        while part := os.read(ours, 65_536):
            shown += part
    except OSError:  # Linux tells the end of a terminal so
        pass
    os.close(ours)
    return shown.decode(), running.wait(timeout=60)


def test_a_sheet_that_tells_what_cannot_be(invoke: Invoke, tmp_path: Path) -> None:
    """Nobody can settle that by reviewing, and it is said all the same."""
    with DriveStore.create(tmp_path / "drive", Drive(BEGAN, "[test]\ntemperature_degC = 99\n")):
        pass
    result = invoke("report", tmp_path / "drive", "--format", "md")
    assert (1, "odovox: something is not settled; the report says what\n") == (
        result.exit_code,
        result.stderr,
    )
    assert "temperature" in result.stdout.split("## The answer")[0]


def test_a_chart_format_without_charts(invoke: Invoke, settled: Path) -> None:
    """Is wrong usage."""
    assert "--charts FOLDER" in error(invoke("report", settled, "--chart-format", "png"))


def test_no_drive(invoke: Invoke, tmp_path: Path) -> None:
    """One line."""
    assert "does not exist" in error(invoke("report", tmp_path / "none", "-o", tmp_path / "r.html"))
    assert not (tmp_path / "r.html").exists()


def test_a_damaged_database(invoke: Invoke, settled: Path, tmp_path: Path) -> None:
    """One line that says how to save what can be saved; what was there before stays."""
    folder = Path(shutil.copytree(settled, tmp_path / "drive"))
    database = folder / "drive.sqlite"
    data = bytearray(database.read_bytes())
    data[4096 : len(data) // 2] = b"\xa5" * (len(data) // 2 - 4096)
    database.write_bytes(data)
    (tmp_path / "r.html").write_text("before", encoding="utf-8")

    assert "recover" in error(invoke("report", folder, "-o", tmp_path / "r.html"))
    assert "before" == (tmp_path / "r.html").read_text(encoding="utf-8")


def test_output_that_cannot_be_written(invoke: Invoke, settled: Path, tmp_path: Path) -> None:
    """A folder that is not there, a folder in the file's place, a file in the charts' place."""
    assert "cannot be written" in error(invoke("report", settled, "-o", tmp_path / "no" / "r.json"))
    (tmp_path / "r.json").mkdir()
    assert "cannot be written" in error(invoke("report", settled, "-o", tmp_path / "r.json"))
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert "cannot be made" in error(
        invoke("report", settled, "--charts", tmp_path / "file", "-o", tmp_path / "a.json")
    )


def test_a_broken_sheet(invoke: Invoke, tmp_path: Path) -> None:
    """The drive's own sheet has a mistake: it is named."""
    with DriveStore.create(tmp_path / "drive", Drive(BEGAN, 'units = "furlongs"')):
        pass
    assert "furlongs" in error(invoke("report", tmp_path / "drive"))
