"""Pages of a real drive's database are overwritten: every command says so in a line, and `odovox recover` saves the drive."""

from __future__ import annotations

import random
import shutil
import sqlite3
from pathlib import Path

import pytest
from command_line import CommandLine, one_line_error
from live_drive import is_whole

from logger.store.lock import RecordingLock

PAGE = 4096


def log(run: CommandLine, folder: Path) -> str:
    """The log of a drive."""
    done = run("log", folder, "--format", "csv", "--all")
    assert 0 == done.returncode, done.stderr
    return done.stdout


def damage(folder: Path, what: str) -> None:
    """Damage a drive that was closed properly, in one of several ways."""
    path = folder / "drive.sqlite"
    db = sqlite3.connect(path)
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    roots = dict(db.execute("SELECT name, rootpage FROM sqlite_schema WHERE rootpage > 0").fetchall())
    db.close()
    content = bytearray(path.read_bytes())
    rng = random.Random(what)
    match what:
        case "pages":  # the header, what began the drive, all utterances, half of the answers
            struck = [1, roots["drive"], roots["utterance"], roots["hypothesis"]]
            struck += [
                page
                for page in range(1, len(content) // PAGE + 1)
                if content[(page - 1) * PAGE] == 0x0A and page not in roots.values()
            ][::2]
        case _:
            struck = []
            del content[len(content) * 2 // 3 :]
    for page in struck:
        content[(page - 1) * PAGE : page * PAGE] = rng.randbytes(PAGE)
    path.write_bytes(content)


@pytest.mark.parametrize("what", ["pages", "cut short"])
def test_a_damaged_drive(run: CommandLine, ingested: Path, tmp_path: Path, what: str) -> None:
    """One line from each command, nothing written into it; then recovered beside it, with the very same entries and sound."""
    folder, new = tmp_path / "my drive", tmp_path / "new"
    shutil.copytree(ingested, folder)
    before = log(run, folder)
    damage(folder, what)
    content = {path.name: path.read_bytes() for path in folder.glob("drive.*")}
    for arguments in (
        ("log", folder),
        ("reconcile", folder),
        ("reconcile", folder, "--explain", "1-1"),
        ("record", "--out", folder),
    ):
        done = run(*arguments)
        assert 2 == done.returncode
        error = one_line_error("\n".join(line for line in done.stderr.splitlines() if "error: " in line))
        assert error.startswith(f"{folder}/drive.sqlite is ")
        assert (
            f"run `odovox recover '{folder}' --out NEW`, which makes a new drive of all that can still be"
            in error
        )
    done = run(
        "recover", folder, "--out", new, *(() if what == "pages" else ("--recogniser", "pocketsphinx"))
    )
    told = done.stderr.splitlines()

    assert done.returncode in {0, 1}, done.stderr
    assert "" == done.stdout
    assert "Traceback" not in done.stderr
    assert any(line.startswith("odovox: recovered ") for line in told), done.stderr
    if what == "pages":
        assert before == log(run, new)
    assert content == {path.name: path.read_bytes() for path in folder.glob("drive.*")}
    assert is_whole(new)
    assert 0o700 == new.stat().st_mode & 0o777
    assert {path.name: path.read_bytes() for path in (folder / "clips").iterdir()} == {
        path.name: path.read_bytes() for path in (new / "clips").iterdir()
    }
    done = run("reconcile", new)
    assert done.returncode in {0, 1}, done.stderr


def test_where_it_cannot(run: CommandLine, ingested: Path, tmp_path: Path) -> None:
    """A folder that is there already, no drive at all, and a database that is noise without its second copy: a line, and 2."""
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "file").touch()
    assert "is there already; name a new folder" in one_line_error(
        run("recover", ingested, "-o", tmp_path / "full").stderr
    )
    assert "there is no drive.sqlite in it" in one_line_error(
        run("recover", tmp_path, "-o", tmp_path / "new").stderr
    )
    with RecordingLock(shutil.copytree(ingested, tmp_path / "busy")):
        done = run("recover", tmp_path / "busy", "-o", tmp_path / "new")
    assert "busy is being recorded into; end that first" in one_line_error(done.stderr)
    noise = tmp_path / "noise"
    noise.mkdir()
    (noise / "drive.sqlite").write_bytes(random.Random(1).randbytes(9 * PAGE))
    done = run("recover", noise, "-o", tmp_path / "new")
    assert 2 == done.returncode
    assert "when the drive began is lost" in one_line_error(done.stderr)
    assert not list(tmp_path.glob("*new*"))
