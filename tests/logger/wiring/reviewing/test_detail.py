"""All there is to say about an entry is there, whether a person has decided about it or not."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from reviewed_drives import doubtful_drive, store_called, straight_fixes

from logger.core.deciding import AddMissed, Type
from logger.errors import AnswerError
from logger.model import Status
from logger.wiring.reviewing.detail import Detail, detail_of
from logger.wiring.reviewing.drive import ReviewedDrive


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive with three doubts."""
    folder = tmp_path_factory.mktemp("drives") / "drive"
    return store_called(folder, doubtful_drive(), fixes=straight_fixes(600), whole_sound=True)


@pytest.fixture
def drive(made: Path, tmp_path: Path) -> ReviewedDrive:
    """The same under review."""
    return ReviewedDrive(Path(shutil.copytree(made, tmp_path / "drive")), "Ada")


def detail(drive: ReviewedDrive, entry_id: str) -> Detail:
    """Its detail as it is now."""
    return detail_of(drive.folder, drive.look(), entry_id)


def test_a_doubt(drive: ReviewedDrive) -> None:
    """What it may be, the trusted readings beside it, where and when, and its sound."""
    found = detail(drive, "5-1")

    assert found.entry == found.undecided
    heard, fitting = found.ranked[:2], found.ranked[2:]
    assert ["90 %", "19 %"] == [f"{each.value} {each.unit}" for each in heard]
    assert [0, None] == [each.number for each in heard]
    assert {"75 %", "76 %", "77 %"} == {f"{each.value} {each.unit}" for each in fitting}
    weighing = found.explanation.weighing
    assert weighing is not None
    assert weighing.before is not None
    assert "3-1" == weighing.before.entry_id
    assert found.place is not None
    # 90 km/h for 370.4 s (its first word comes 0.4 s after the call begins) is 9.26 km.
    assert abs(found.place.distance_m - 25.0 * 370.4) < 50.0
    assert (True, True, ()) == (found.has_clip, found.has_more, found.steps)
    assert ["3-2", "4-1"] == [each.id for each in found.before]
    assert ["6-1", "7-1"] == [each.id for each in found.after]


def test_after_a_decision(drive: ReviewedDrive) -> None:
    """What was heard stays: the same alternatives as before, and the decision in its history."""
    before = detail(drive, "5-1")
    drive.answer(Type("5-1", "77"))
    found = detail(drive, "5-1")

    assert Status.CORRECTED is found.entry.status
    assert before.undecided == found.undecided
    assert before.ranked == found.ranked
    assert before.explanation.answers == found.explanation.answers
    assert ["77"] == [step.decision.words for step in found.steps]


def test_what_was_added(drive: ReviewedDrive) -> None:
    """It has a place and neighbours, and no sound of its own."""
    drive.answer(AddMissed(500 * 10**9, "charge 76 percent"))
    found = detail(drive, "added-1")

    assert (None, False, None, ()) == (found.utterance, found.has_clip, found.undecided, found.ranked)
    assert found.place is not None
    assert "6-1" == found.before[-1].id


def test_no_such_entry(drive: ReviewedDrive) -> None:
    """It is told."""
    with pytest.raises(AnswerError, match=r"no entry '\.\./x'"):
        detail(drive, "../x")
