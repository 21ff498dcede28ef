"""A drive under review: looked at, answered, settled at once; two reviewers and a recorder never overwrite each other."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from reviewed_drives import store_called
from two_ears import drive_heard

from logger.core.deciding import Accept, AddMissed, Choices, Reject, Take, Type, Undo
from logger.core.trusting import AS_MEASURED
from logger.errors import AnswerError, ChangedMeanwhileError, StoreError
from logger.model import Fix, Status
from logger.store import DriveStore
from logger.store.lock import RecordingLock
from logger.wiring.reviewing.drive import ReviewedDrive, Settled

READ_ONLY = """
import sys, os
from pathlib import Path
from logger.core import explaining, reconcile, track
from logger.core.deciding import Accept
from logger.errors import AnswerError
from logger.wiring.reviewing.drive import ReviewedDrive
if os.getuid() == 0:
    os.setgroups([]); os.setgid(65534); os.setuid(65534)
drive = ReviewedDrive(Path(sys.argv[1]), "Ada")
print(len(drive.look().doubts))
try:
    drive.answer(Accept("5-1"))
except AnswerError as error:
    print(error)
"""


@pytest.fixture
def folder(doubtful: Path, tmp_path: Path) -> Path:
    """The same, to be changed."""
    return Path(shutil.copytree(doubtful, tmp_path / "drive"))


def settled(drive: ReviewedDrive, *args: object, **changes: object) -> Settled:
    """Answer what has only one meaning."""
    found = drive.answer(*args, **changes)  # type: ignore[arg-type]
    assert isinstance(found, Settled)
    return found


def test_the_log_is_what_the_review_shows(folder: Path) -> None:
    """After an answer the stored entries are those of the view, and a doubt that hung on it is gone."""
    drive = ReviewedDrive(folder, "Ada")
    view = drive.look()
    assert ["5-1", "6-1", "7-1"] == [entry.id for entry in view.doubts]

    found = settled(drive, Type("5-1", "77"), revision=view.revision, why="heard again")
    with DriveStore.open(folder, readonly=True) as store:
        assert found.view.entries == store.entries()
        assert found.decisions == store.decisions()
    assert ["7-1"] == [old.id for old, _ in found.effect.vanished]
    assert ["6-1"] == [entry.id for entry in found.view.doubts]
    assert found.view is drive.look()


def test_what_was_learned_once_gives_the_same(tmp_path: Path) -> None:
    """Of a drive that two recognisers heard: an answer is settled as the drive is when it is opened anew."""
    folder = store_called(tmp_path / "drive", drive_heard(better=1), clips=False)
    drive = ReviewedDrive(folder, "Ada")
    assert drive.look().worked.trust != AS_MEASURED
    found = settled(drive, Type("20-1", "110.0 km"))

    assert found.view.entries == ReviewedDrive(folder, "Bo").look().entries


def test_undo_brings_everything_back(folder: Path) -> None:
    """Each answer is a row that stays, and the drive is as it was."""
    drive = ReviewedDrive(folder, "Ada")
    before = drive.look()
    for answer in (Take("5-1", 0), Reject("6-1"), Accept("7-1"), AddMissed(500 * 10**9, "note rain")):
        settled(drive, answer)
    for entry_id in ("added-4", "7-1", "6-1", "5-1"):
        settled(drive, Undo(entry_id))

    after = drive.look()
    assert before.entries == tuple(entry for entry in after.entries if entry.id != "added-4")
    assert 8 == len(after.decisions)


def test_two_reviewers(folder: Path) -> None:
    """The second one is told who was first and about what; nothing of theirs is stored until they looked again."""
    ada, bo = ReviewedDrive(folder, "Ada"), ReviewedDrive(folder, "Bo")
    seen = bo.look().revision
    settled(ada, Type("5-1", "77"), revision=ada.look().revision)

    with pytest.raises(ChangedMeanwhileError, match="Ada has decided about entry 5-1 meanwhile"):
        bo.answer(Take("5-1", 0), revision=seen)
    assert 1 == len(bo.look().decisions)
    settled(bo, Reject("6-1"), revision=bo.look().revision)
    with DriveStore.open(folder, readonly=True) as store:
        assert ["Ada", "Bo"] == [decision.who for decision in store.decisions()]


def test_many_at_once(folder: Path) -> None:
    """Answers given at the same moment about the same view: exactly one is stored."""
    drives = [ReviewedDrive(folder, f"reviewer {number}") for number in range(4)]
    revision = drives[0].look().revision
    outcomes: list[str] = []

    def answer(drive: ReviewedDrive) -> None:
        try:
            drive.answer(Type("5-1", "77"), revision=revision)
            outcomes.append("stored")
        except ChangedMeanwhileError:
            outcomes.append("told")

    threads = [threading.Thread(target=answer, args=(drive,)) for drive in drives]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert ["stored", "told", "told", "told"] == sorted(outcomes)
    assert 1 == len(drives[0].look().decisions)


def test_more_was_taken_in(folder: Path) -> None:
    """Other facts than decisions count as well."""
    drive = ReviewedDrive(folder, "Ada")
    seen = drive.look()
    with DriveStore.open(folder) as store:
        store.add_track_file("more.gpx", "ef", [Fix(seen.heard.drive.began_utc_ns + 700 * 10**9, 45.2, 0.5)])

    with pytest.raises(ChangedMeanwhileError, match="more of the drive was taken in meanwhile"):
        drive.answer(Accept("5-1"), revision=seen.revision)


def test_while_it_is_recorded(folder: Path) -> None:
    """It can be looked at, and no answer is taken; the recorder is not in the way of itself afterwards."""
    with RecordingLock(folder):
        drive = ReviewedDrive(folder, "Ada")
        assert 3 == len(drive.look().doubts)
        with pytest.raises(AnswerError, match=f"being recorded just now .process {os.getpid()}"):
            drive.answer(Accept("5-1"))
        assert () == drive.look().decisions
    settled(drive, Accept("5-1"))
    with RecordingLock(folder):
        pass


def test_an_answer_that_cannot_be_stored_leaves_no_trace(folder: Path) -> None:
    """The disk refuses it: the error is told, and the drive is as before, also in memory."""
    drive = ReviewedDrive(folder, "Ada")
    before = drive.look()
    db = sqlite3.connect(folder / "drive.sqlite")
    db.execute("CREATE TRIGGER full BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'no room'); END")
    db.commit()

    with pytest.raises(StoreError, match="no room"):
        drive.answer(Type("5-1", "77"))
    db.execute("DROP TRIGGER full")
    db.commit()
    db.close()
    # Another's answer makes the same revision as that one would have.
    settled(ReviewedDrive(folder, "Bo"), Type("5-1", "76"))
    entry = drive.look().entry("5-1")
    assert entry is not None
    assert (Status.CORRECTED, "76") == (entry.status, str(entry.value))
    settled(drive, Undo("5-1"))
    assert before.entries == drive.look().entries


def test_what_has_two_meanings_changes_nothing(folder: Path) -> None:
    """Nothing is stored before one is chosen."""
    drive = ReviewedDrive(folder, "Ada")
    revision = drive.look().revision

    assert isinstance(drive.answer(AddMissed(0, "105")), Choices)
    assert revision == drive.look().revision


def test_entries_of_an_older_program_are_made_anew_first(folder: Path) -> None:
    """So that what an answer changes is not mixed up with what an update did."""
    with DriveStore.open(folder) as store:
        entries = store.entries()
        store.replace_entries([replace(entries[0], status=Status.FLAGGED), *entries[1:]])
    ReviewedDrive(folder, "Ada")

    with DriveStore.open(folder, readonly=True) as store:
        assert entries == store.entries()


def test_where_nothing_may_be_written(doubtful: Path) -> None:
    """It can be looked at, and an answer is refused with why; since root may write anywhere, a child becomes nobody."""
    place = Path(tempfile.mkdtemp(prefix="odovox-test-"))
    try:
        place.chmod(0o755)
        folder = Path(shutil.copytree(doubtful, place / "drive"))
        for path in (*folder.rglob("*"), folder):
            path.chmod(0o555 if path.is_dir() else 0o444)
        done = subprocess.run(
            [sys.executable, "-c", READ_ONLY, str(folder)],
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
        )
    finally:
        shutil.rmtree(place)

    assert [
        "3",
        f"{folder} is read-only; change its permissions, or copy it to a place you may write to",
    ] == (done.stdout.splitlines()), done.stderr


def test_no_drive(tmp_path: Path) -> None:
    """A folder without one is told of in one line."""
    with pytest.raises(StoreError, match="not a drive folder"):
        ReviewedDrive(tmp_path, "Ada")
