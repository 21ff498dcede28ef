"""`odovox review --terminal`: the doubts one after the other, answered by a line each, without a loudspeaker too."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from reviewed_drives import METRIC, doubtful_drive, store_called, straight_fixes

from logger.model import Action
from logger.store import DriveStore
from logger.store.lock import RecordingLock


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive with three doubts."""
    folder = tmp_path_factory.mktemp("drives") / "drive"
    return store_called(folder, doubtful_drive(), fixes=straight_fixes(600), sheet=METRIC)


@pytest.fixture
def drive(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The same, to be changed; on a machine without a sound server."""
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path}/none")
    monkeypatch.setenv("HOME", str(tmp_path))
    return Path(shutil.copytree(made, tmp_path / "drive"))


def walk(invoke: Callable[..., Result], drive: Path, *lines: str, sound: bool = False) -> Result:
    """Answer by these lines."""
    quiet = () if sound else ("--no-sound",)
    return invoke(
        "review", drive, "--terminal", "--who", "Ada", *quiet, typed="".join(f"{line}\n" for line in lines)
    )


def actions(drive: Path) -> list[tuple[Action, str]]:
    """What is stored."""
    with DriveStore.open(drive, readonly=True) as store:
        return [(each.action, each.entry_id) for each in store.decisions()]


def test_all_doubts(invoke: Callable[..., Result], drive: Path) -> None:
    """Two lines settle three doubts, since one vanishes with another."""
    done = walk(invoke, drive, "77", "x")

    assert 0 == done.exit_code
    assert [(Action.REPLACE, "5-1"), (Action.REJECT, "6-1")] == actions(drive)
    assert (
        "1 of 3   5-1   0:06:10, 9.3 km along the track\n  charge 19 %, heard as 'nineteen percent'"
        in done.stdout
    )
    assert "    a  charge 90 %" in done.stdout
    assert "before: 78 % at 0:03:10, 4.5 km away" in done.stdout
    assert "  no longer in doubt by this: 7-1: 0:09:10  range left 312 km, accepted" in done.stdout
    assert done.stderr.endswith("odovox: nothing is in doubt\n")


def test_letters_undo_and_skip(invoke: Callable[..., Result], drive: Path) -> None:
    """A letter takes an alternative, b is what was heard; an answer is undone; what is skipped stays in doubt."""
    done = walk(invoke, drive, "a", "u", "b", "s", "s", "q")

    assert 1 == done.exit_code
    assert [(Action.REPLACE, "5-1"), (Action.WITHDRAW, "5-1"), (Action.ACCEPT, "5-1")] == actions(drive)


def test_what_means_nothing(invoke: Callable[..., Result], drive: Path) -> None:
    """It is told, and asked again; so are a letter beside which nothing stands, and an undo of nothing."""
    done = walk(invoke, drive, "hello", "h", "u", "?", "ok")

    assert "'hello' is nothing that can be called out" in done.stderr
    assert "there is nothing beside h" in done.stderr
    assert "there is nothing to undo in this walk" in done.stderr
    assert "a to h take what is beside the letter" in done.stdout
    assert [(Action.ACCEPT, "5-1")] == actions(drive)


def test_choices(invoke: Callable[..., Result], drive: Path) -> None:
    """What has more than one meaning is asked back; anything but a number leaves it."""
    left = walk(invoke, drive, "s", "75", "no", "q")
    assert "which? " in left.stdout
    assert [] == actions(drive)
    (number,) = (line.split()[-4] for line in left.stdout.splitlines() if line.endswith("  charge 75 %"))
    walk(invoke, drive, "s", "75", number, "q")
    assert [(Action.REPLACE, "6-1")] == actions(drive)


def test_without_a_loudspeaker(invoke: Callable[..., Result], drive: Path) -> None:
    """It goes on, and says where the sound is."""
    done = walk(invoke, drive, "w", "q", sound=True)

    assert 1 == done.exit_code
    assert "the sound is clips/005.flac in the drive's folder" in done.stderr
    assert "only the call itself was kept" in done.stderr
    assert "Traceback" not in done.stderr + done.stdout


def test_the_end_of_input(invoke: Callable[..., Result], drive: Path) -> None:
    """Nothing typed, nothing changed."""
    assert 1 == walk(invoke, drive).exit_code
    assert [] == actions(drive)


def test_while_it_is_recorded(invoke: Callable[..., Result], drive: Path) -> None:
    """One may look, and is told that no answer is taken."""
    with RecordingLock(drive):
        done = walk(invoke, drive, "a", "q")

    assert 2 == done.stderr.count("being recorded just now")
    assert [] == actions(drive)
