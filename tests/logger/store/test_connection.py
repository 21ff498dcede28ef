"""Drives are opened where they can be, also read-only ones, and refused in one line where they cannot.

The cases are real ones: files changed on disk, permissions taken away, programs killed. As root, who may do anything,
the tests about permissions run a child process that becomes the user nobody first.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import sqlite3
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from logger.errors import DamagedError, StoreError
from logger.model import Drive, HeardWord, Hypothesis, Issue, Recognition
from logger.store import DriveStore
from logger.store.schema import MIGRATIONS

DRIVE = Drive(0, "")
ROOT = Path(__file__).parents[3]

FILL = """
import os, sys
from pathlib import Path
from logger.model import Issue
from logger.store import DriveStore
store = DriveStore.open(Path(sys.argv[1]))
source = store.add_source("lap.wav", "ab" * 32, 0)
for first in range(50):
    store.add_utterance(source.id, first * 16000, 16000, first * 10**9, f"clips/{first}.flac")
with store.atomic():
    for first in range(50, 100):
        store.add_utterance(source.id, first * 16000, 16000, first * 10**9, f"clips/{first}.flac")
    store.add_issue(Issue("half", "this transaction is never committed"))
    # More than SQLite's page cache holds, so that uncommitted pages are in the -wal file too.
    store._db.execute("PRAGMA cache_size = 1")
    for first in range(100, 3000):
        store.add_issue(Issue("half", "x" * 200 + str(first)))
    print("ready", flush=True)
    sys.stdin.read()
"""

READ = """
import os, sys
from pathlib import Path
from logger.errors import StoreError
from logger.store import DriveStore
import shutil, tempfile, json, importlib.metadata
if os.getuid() == 0:
    os.setgroups([]); os.setgid(65534); os.setuid(65534)
folder = Path(sys.argv[1])
try:
    with DriveStore.open(folder, readonly=sys.argv[2] == "read") as store:
        print(len(store.utterances()), len(store.issues()))
except StoreError as error:
    print("StoreError:", error)
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A drive folder that holds an empty drive."""
    DriveStore.create(tmp_path / "drive", DRIVE).close()
    return tmp_path / "drive"


@pytest.fixture
def public() -> Iterator[Path]:
    """A drive folder below folders that everybody may enter, which pytest's own are not."""
    place = Path(tempfile.mkdtemp(prefix="odovox-test-"))
    place.chmod(0o755)
    folder = place / "drive"
    DriveStore.create(folder, DRIVE).close()
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(place)


def run(script: str, *arguments: str | Path) -> subprocess.Popen[str]:
    """Start a script in a Python of its own."""
    return subprocess.Popen(
        [sys.executable, "-c", script, *map(str, arguments)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )


def kill_while_writing(folder: Path) -> None:
    """Let another process commit 50 utterances, then kill it with SIGKILL inside a transaction."""
    with run(FILL, folder) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        process.send_signal(signal.SIGKILL)
    assert -signal.SIGKILL == process.returncode


def read_as_other(folder: Path, how: str = "read") -> str:
    """What a process of another user (this one, unless it is root) gets to see."""
    with run(READ, folder, how) as process:
        output, _ = process.communicate()
    assert 0 == process.returncode
    return output.strip()


def freeze(folder: Path) -> None:
    """Let everybody read the folder and nobody write it."""
    for path in folder.iterdir():
        path.chmod(0o444)
    folder.chmod(0o555)


def test_what_was_committed_survives_a_kill(folder: Path) -> None:
    """After SIGKILL mid-transaction the committed utterances are there, the others gone, and the file is sound."""
    kill_while_writing(folder)
    assert (folder / "drive.sqlite-wal").stat().st_size > 0

    with DriveStore.open(folder) as store:
        assert list(range(50)) == [utterance.first_sample // 16000 for utterance in store.utterances()]
        assert () == store.issues()
        again = store.add_utterance(1, 50 * 16000, 16000, 50 * 10**9, "clips/50.flac")
        assert 51 == again.id
    db = sqlite3.connect(folder / "drive.sqlite")
    assert [("ok",)] == db.execute("PRAGMA integrity_check").fetchall()
    assert [] == db.execute("PRAGMA foreign_key_check").fetchall()
    db.close()


def test_a_killed_drive_can_be_read_without_writing(folder: Path) -> None:
    """Opened for reading only, the rows that are still in the -wal file are seen."""
    kill_while_writing(folder)
    with DriveStore.open(folder, readonly=True) as store:
        assert 50 == len(store.utterances())


def test_a_read_only_folder_can_be_read(public: Path) -> None:
    """Where no file can be made, a drive that was closed properly is still read, and nothing is left behind."""
    with DriveStore.open(public) as store:
        store.add_issue(Issue("a", "b"))
    freeze(public)

    assert "0 1" == read_as_other(public)
    assert ["drive.json", "drive.sqlite"] == sorted(path.name for path in public.iterdir())


@pytest.mark.parametrize("left", ["-wal and -shm", "-wal"])
def test_a_read_only_folder_of_a_killed_program_can_be_read(public: Path, left: str) -> None:
    """Rows that only the -wal file has are seen also where it cannot be merged, with its -shm file or without."""
    kill_while_writing(public)
    if left == "-wal":
        (public / "drive.sqlite-shm").unlink()
    freeze(public)
    before = {path.name: path.read_bytes() for path in public.iterdir() if "shm" not in path.name}

    assert "50 0" == read_as_other(public)
    assert before == {path.name: path.read_bytes() for path in public.iterdir() if "shm" not in path.name}
    assert [] == [
        path for path in Path(tempfile.gettempdir()).glob("odovox-*") if path.stat().st_uid == 65534
    ]


def test_a_read_only_folder_is_not_opened_for_writing(public: Path) -> None:
    """It is refused at once, with what to do, rather than at the first write."""
    freeze(public)

    assert re.fullmatch(
        r"StoreError: .*/drive is read-only; change its permissions, or .*", read_as_other(public, "w")
    )


def test_a_folder_of_somebody_else(public: Path) -> None:
    """A folder that may not be entered, or a file that may not be read, is told as such."""
    public.chmod(0o755)
    (public / "drive.sqlite").chmod(0)
    assert read_as_other(public).endswith("drive.sqlite may not be read; change its permissions")
    public.chmod(0)
    assert re.search(r"drive may not be read; change its permissions", read_as_other(public))
    public.chmod(0o755)


def test_reading_writes_nothing(folder: Path) -> None:
    """A drive opened for reading refuses to be written, and its file does not change."""
    before = (folder / "drive.sqlite").read_bytes()
    with DriveStore.open(folder, readonly=True) as store:
        with pytest.raises(StoreError, match="read-only"):
            store.add_issue(Issue("a", "b"))
        with pytest.raises(StoreError, match="read-only"):
            store.replace_entries([])

    assert before == (folder / "drive.sqlite").read_bytes()


def test_reading_beside_a_writer(folder: Path) -> None:
    """A reader sees what was committed before it looked, and does not wait for an open transaction."""
    with DriveStore.open(folder) as writer, DriveStore.open(folder, readonly=True) as reader:
        writer.add_issue(Issue("a", "1"))
        with writer.atomic():
            writer.add_issue(Issue("a", "2"))
            assert (Issue("a", "1"),) == reader.issues()
        assert (Issue("a", "1"), Issue("a", "2")) == reader.issues()


def test_two_writers(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second writer waits, then says that the drive is in use."""
    monkeypatch.setattr("logger.store.connection.BUSY_S", 0.2)
    with DriveStore.open(folder) as first, DriveStore.open(folder) as second:
        with first.atomic(), pytest.raises(StoreError, match="in use by another program; wait"):
            second.add_issue(Issue("a", "b"))
        second.add_issue(Issue("a", "b"))


def test_no_folder(tmp_path: Path) -> None:
    """A folder that is not there, a file, and a folder without a drive each get their own line."""
    (tmp_path / "file").write_text("x")
    (tmp_path / "empty").mkdir()
    (tmp_path / "odd" / "drive.sqlite").mkdir(parents=True)
    for readonly in (False, True):
        with pytest.raises(StoreError, match="none does not exist; check the name"):
            DriveStore.open(tmp_path / "none", readonly=readonly)
        with pytest.raises(StoreError, match="file is a file, not a drive folder"):
            DriveStore.open(tmp_path / "file", readonly=readonly)
        with pytest.raises(StoreError, match=r"is not a drive folder: there is no drive\.sqlite in it"):
            DriveStore.open(tmp_path / "empty", readonly=readonly)
        with pytest.raises(StoreError, match=r"drive\.sqlite is not a file"):
            DriveStore.open(tmp_path / "odd", readonly=readonly)
    assert [] == list((tmp_path / "empty").iterdir())


def test_making_a_drive_where_none_can_be(folder: Path, tmp_path: Path) -> None:
    """A drive that is there, a file in the way, and another program's database are left alone."""
    (tmp_path / "file").write_text("x")
    (tmp_path / "other").mkdir()
    db = sqlite3.connect(tmp_path / "other" / "drive.sqlite")
    db.execute("CREATE TABLE mine (x)")
    db.close()

    with pytest.raises(StoreError, match="is a drive already"):
        DriveStore.create(folder, DRIVE)
    with pytest.raises(StoreError, match="file is a file; name a folder"):
        DriveStore.create(tmp_path / "file", DRIVE)
    with pytest.raises(StoreError, match="cannot be made a drive folder: Not a directory"):
        DriveStore.create(tmp_path / "file" / "drive", DRIVE)
    for way in (DriveStore.create, DriveStore.open_or_create):
        with pytest.raises(StoreError, match="some other program's database"):
            way(tmp_path / "other", DRIVE)


@pytest.mark.parametrize("readonly", [False, True])
def test_a_file_of_something_else(folder: Path, *, readonly: bool) -> None:
    """A file that is no database, and a database that is no drive, are refused."""
    (folder / "drive.sqlite").write_bytes(b"not a database" * 500)
    with pytest.raises(StoreError, match="is not an SQLite database"):
        DriveStore.open(folder, readonly=readonly)
    (folder / "drive.sqlite").unlink()
    (folder / "drive.json").unlink()
    db = sqlite3.connect(folder / "drive.sqlite")
    db.execute("CREATE TABLE mine (x)")
    db.close()
    with pytest.raises(StoreError, match="some other program's database"):
        DriveStore.open(folder, readonly=readonly)


def test_a_damaged_file(folder: Path) -> None:
    """When the list of tables is overwritten, opening says that the file is damaged."""
    path = folder / "drive.sqlite"
    whole = path.read_bytes()
    path.write_bytes(whole[:4096] + b"\xff" * (len(whole) - 4096))
    for readonly in (False, True):
        with pytest.raises(
            StoreError, match="is damaged; bring it back from a backup, or run `odovox recover"
        ):
            DriveStore.open(folder, readonly=readonly)


def test_a_damaged_table(folder: Path) -> None:
    """When only one table is overwritten, reading that one says so and the others can still be read."""
    path = folder / "drive.sqlite"
    db = sqlite3.connect(path)
    page = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'entry'").fetchone()[0]
    db.close()
    whole = path.read_bytes()
    path.write_bytes(whole[: (page - 1) * 4096] + b"\xff" * 4096 + whole[page * 4096 :])
    for readonly in (False, True):
        with pytest.raises(
            DamagedError, match="is damaged; bring it back from a backup, or run `odovox recover"
        ):
            DriveStore.open(folder, readonly=readonly)


def test_damaged_while_it_is_open(folder: Path) -> None:
    """A table that is overwritten, or holds what none of ours wrote, is told by whoever reads or writes it."""
    path = folder / "drive.sqlite"
    with DriveStore.open(folder) as store:
        db = sqlite3.connect(path)
        page = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'entry'").fetchone()[0]
        # A change by another program makes SQLite forget the pages it has read.
        db.execute("INSERT INTO issue (code, message) VALUES ('a', 'b')")
        db.execute(
            "INSERT INTO decision (id, at_utc_ns, who, action, entry_id, quantity, value, unit, why)"
            " VALUES (1, 0, 'me', 'accept', '1-1', 'trip', '1.2.3', 'mi', '')"
        )
        db.commit()
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        db.close()
        with path.open("r+b") as file:
            file.seek((page - 1) * 4096)
            file.write(b"\xff" * 4096)
        with pytest.raises(DamagedError, match="is damaged; bring it back from a backup"):
            store.entries()
        with pytest.raises(DamagedError, match="is damaged; bring it back from a backup"):
            store.replace_entries([])
        with pytest.raises(DamagedError, match="is damaged; bring it back from a backup"):
            store.decisions()
        assert DRIVE == store.drive()


def test_a_file_cut_short(folder: Path) -> None:
    """A file that lost its end, as after a copy that was interrupted, is damaged."""
    path = folder / "drive.sqlite"
    path.write_bytes(path.read_bytes()[:4096])
    with pytest.raises(StoreError, match="is damaged"), DriveStore.open(folder) as store:
        store.drive()


@pytest.mark.parametrize("how", ["emptied", "removed"])
def test_a_drive_that_lost_its_database_is_not_begun_anew(folder: Path, how: str) -> None:
    """A new drive in its folder would write over its sound; where making a drive was interrupted there is none to lose."""
    path = folder / "drive.sqlite"
    path.write_bytes(b"")
    if how == "removed":
        path.unlink()
    with pytest.raises(DamagedError, match="is damaged; bring it back"):
        DriveStore.open_or_create(folder, DRIVE)
    (folder / "drive.json").unlink()
    DriveStore.open_or_create(folder, DRIVE).close()


def test_a_newer_format(folder: Path) -> None:
    """A drive of a later odovox is not touched."""
    db = sqlite3.connect(folder / "drive.sqlite")
    db.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    db.close()
    for readonly in (False, True):
        known = len(MIGRATIONS)
        with pytest.raises(
            StoreError,
            match=rf"newer odovox \(format {known + 1}, this one knows up to {known}\); update odovox",
        ):
            DriveStore.open(folder, readonly=readonly)


def test_an_older_format(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is updated where it may be written, and otherwise told about."""

    def add_colour(db: sqlite3.Connection) -> None:
        db.execute("ALTER TABLE source ADD COLUMN colour TEXT")

    monkeypatch.setattr("logger.store.schema.MIGRATIONS", (*MIGRATIONS, add_colour))
    monkeypatch.setattr("logger.store.schema.migrate.__defaults__", ((*MIGRATIONS, add_colour),))
    with pytest.raises(StoreError, match="older odovox; run `odovox reconcile` on it once"):
        DriveStore.open(folder, readonly=True)
    DriveStore.open(folder).close()
    with DriveStore.open(folder, readonly=True) as store:
        assert DRIVE == store.drive()


def test_a_drive_of_the_first_format_keeps_its_answers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was heard before scores were kept apart comes back, without them."""
    answer = Hypothesis(0, (HeardWord("checkpoint"), HeardWord("six"), HeardWord("percent")), -0.5)
    path = tmp_path / "drive.sqlite"
    with monkeypatch.context() as older:
        older.setattr("logger.store.schema.MIGRATIONS", MIGRATIONS[:1])
        older.setattr("logger.store.schema.migrate.__defaults__", (MIGRATIONS[:1],))
        DriveStore.create(tmp_path, DRIVE).close()
    db = sqlite3.connect(path)
    db.execute("INSERT INTO source VALUES (1, 'lap.wav', 'ab', 0, NULL)")
    db.execute("INSERT INTO utterance VALUES (1, 1, 0, 16000, 0, 'clips/1.flac')")
    db.execute("INSERT INTO recognition VALUES (1, 1, 'typed')")
    words = [[word.text, None, None, None] for word in answer.words]
    db.execute("INSERT INTO hypothesis VALUES (1, 0, ?, -0.5)", (json.dumps(words),))
    db.commit()
    db.close()

    with DriveStore.open(tmp_path) as store:
        assert (Recognition(1, "typed", (answer,)),) == store.latest_recognitions()


@pytest.mark.parametrize("left", [b"", "header"])
def test_an_interrupted_creation_can_be_finished(tmp_path: Path, left: bytes | str) -> None:
    """A database without a drive in it is said to be one, and `create` and `open_or_create` go on from there."""
    path = tmp_path / "drive.sqlite"
    if left == "header":
        db = sqlite3.connect(path)
        db.execute("PRAGMA journal_mode = WAL")
        db.close()
    else:
        path.touch()
    for readonly in (False, True):
        with pytest.raises(
            StoreError, match="holds no drive yet: making it was interrupted; run ingest again"
        ):
            DriveStore.open(tmp_path, readonly=readonly)
    with DriveStore.open_or_create(tmp_path, DRIVE) as store:
        assert DRIVE == store.drive()


def test_odd_names(tmp_path: Path) -> None:
    """A folder name that means something in a URI is still just a name."""
    folder = tmp_path / "lap 1? #2 50%25 ü"
    DriveStore.create(folder, DRIVE).close()
    with DriveStore.open(folder, readonly=True) as store:
        assert DRIVE == store.drive()
    assert [folder] == list(tmp_path.iterdir())


def test_a_disk_that_takes_no_more(folder: Path) -> None:
    """When the operating system refuses to let the file grow, all that was committed stays (limit set by setrlimit)."""
    script = """
import resource, signal, sys
from pathlib import Path
from logger.errors import DamagedError, StoreError
from logger.model import Issue
from logger.store import DriveStore
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, 300_000))
kept = 0
try:
    with DriveStore.open(Path(sys.argv[1])) as store:
        while True:
            store.add_issue(Issue("big", f"{kept} " + "x" * 20_000))
            kept += 1
except StoreError as error:
    print(kept, error)
"""
    with run(script, folder) as process:
        output, _ = process.communicate()
    kept, _, message = output.partition(" ")

    assert 0 == process.returncode
    assert re.search(
        r"drive.sqlite (cannot grow: the disk is full|cannot be read or written: the disk)", message
    )
    assert int(kept) > 0
    with DriveStore.open(folder) as store:
        assert int(kept) == len(store.issues())


def test_files_are_private_whatever_the_umask(tmp_path: Path) -> None:
    """A lax umask does not open a drive to others."""
    before = os.umask(0)
    try:
        DriveStore.create(tmp_path / "drive", DRIVE).close()
    finally:
        os.umask(before)

    assert (0o700, 0o600) == (
        stat.S_IMODE((tmp_path / "drive").stat().st_mode),
        stat.S_IMODE((tmp_path / "drive" / "drive.sqlite").stat().st_mode),
    )
