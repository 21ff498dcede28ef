"""Summaries of stored drives: the same by one process or several, kept only while nothing has changed, broken ones told."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from logger.core.comparing.whole import Beside
from logger.errors import OdovoxError, StoreError
from logger.model import Issue
from logger.store import DriveStore
from logger.store.kept_results import KEPT_NAME
from logger.wiring.comparing import gathering
from logger.wiring.comparing.gathering import compare


@pytest.fixture
def drives(light_drives: Path, tmp_path: Path) -> list[Path]:
    """Three drives that may be changed."""
    return sorted(Path(shutil.copytree(light_drives, tmp_path / "drives")).iterdir())


def gathered(folders: list[Path], told: list[OdovoxError] | None = None) -> tuple[Beside, ...]:
    """Drives compared; nothing may be broken unless it is asked for."""
    broken: list[OdovoxError] = []
    found = compare(folders, broken.append)
    assert told is not None or not broken
    if told is not None:
        told += broken
    return found


def test_what_was_kept_is_the_same(drives: list[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """The second time nothing is worked out, and all comes out the same."""
    first = gathered(drives)
    monkeypatch.setattr(gathering, "fresh_summary", lambda _: pytest.fail("worked out again"))

    assert first == gathered(drives)
    assert all((each / KEPT_NAME).is_file() for each in drives)


def test_a_changed_drive_is_worked_out_again(drives: list[Path]) -> None:
    """An entry that a person changes changes the result: nothing stale is ever shown."""
    before = gathered(drives)
    with DriveStore.open(drives[0]) as store:
        store.replace_entries(store.entries()[:40])
    after = gathered(drives)

    assert before[0].summary.charge != after[0].summary.charge
    assert [each.summary for each in before[1:]] == [each.summary for each in after[1:]]


def test_another_program_works_it_out_again(drives: list[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """What an older version kept is not used, nor is what is damaged."""
    expected = gathered(drives)
    kept = json.loads((drives[0] / KEPT_NAME).read_text("utf-8"))
    (drives[0] / KEPT_NAME).write_text(json.dumps(kept | {"text": '{"figures": []}'}), "utf-8")
    assert expected == gathered(drives)

    calls: list[Path] = []
    real = gathering.fresh_summary
    monkeypatch.setattr(gathering, "program", lambda: "a later version")
    monkeypatch.setattr(gathering, "fresh_summary", lambda folder: calls.append(folder) or real(folder))  # type: ignore[func-returns-value]
    assert expected == gathered(drives)
    assert drives == calls


def test_a_drive_that_changes_meanwhile_is_not_kept(
    drives: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was worked out while somebody wrote may be of neither state, so it is not kept."""
    real = gathering.fresh_summary

    def meanwhile(folder: Path) -> object:
        found = real(folder)
        with DriveStore.open(folder) as store:
            store.add_issue(Issue("track_gap", "meanwhile"))
        return found

    monkeypatch.setattr(gathering, "fresh_summary", meanwhile)
    gathered(drives[:1])

    assert not (drives[0] / KEPT_NAME).exists()


def test_one_broken_drive_stops_no_other(drives: list[Path]) -> None:
    """It is told in one line with its name; alone it is an error, and so are broken ones only."""
    content = bytearray((drives[1] / "drive.sqlite").read_bytes())
    content[100:4096] = b"\x55" * 3996
    (drives[1] / "drive.sqlite").write_bytes(content)
    told: list[OdovoxError] = []
    found = gathered(drives, told)

    assert [drives[0].name, drives[2].name] == [each.name for each in found]
    assert [drives[1].name] == [Path(str(each).split("/drive.sqlite")[0]).name for each in told]
    with pytest.raises(OdovoxError, match=drives[1].name):
        compare([drives[1]], told.append)
    with pytest.raises(StoreError, match="none of the 2"):
        compare([drives[1], drives[1].parent / "gone"], told.append)


def test_several_processes_give_the_same(drives: list[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """Worked out by two processes beside each other, each figure is what this process works out."""
    alone = compare(drives, lambda _: None, kept=False)
    monkeypatch.setattr(gathering, "_WORTH_PROCESSES", 2)
    monkeypatch.setattr(gathering, "_AT_ONCE", 1)

    assert alone == compare(drives, lambda _: None, kept=False)


def test_nothing_is_kept_where_that_was_not_asked_for(drives: list[Path]) -> None:
    """Without keeping, a drive's folder is only read."""
    compare(drives, lambda _: None, kept=False)

    assert not any((each / KEPT_NAME).exists() for each in drives)
