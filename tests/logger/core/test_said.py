"""Corrections, "strike that", notes and questions: what they do to the readings before them."""

from __future__ import annotations

import math

import pytest
from called_drives import CalledDrive

from logger.model import Origin, Status


def statuses(drive: CalledDrive) -> dict[str, str]:
    """Status by entry id."""
    return {name: entry.status.value for name, entry in drive.entries().items()}


def test_a_correction_replaces_the_newest_reading_of_its_quantity() -> None:
    """The old row stays, rejected; the new one stands at the old one's time, and both say why."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty five percent")
    drive.call(200, "checkpoint sixty three percent five kilometers")
    drive.call(220, "correction sixty four percent")
    entries = drive.entries()

    old, new = entries["2-1"], entries["3-1"]
    assert (Status.REJECTED, "63", Origin.HEARD) == (old.status, str(old.value), old.origin)
    assert (Status.CORRECTED, "64", Origin.SPOKEN_CORRECTION) == (new.status, str(new.value), new.origin)
    assert old.at_ns == new.at_ns
    assert "replaced by the spoken correction at 0:03:40 (3-1)" == old.reason
    assert "said at 0:03:40 to replace 2-1" == new.reason
    assert [Status.ACCEPTED, Status.ACCEPTED] == [entries[name].status for name in ("1-1", "2-2")]


def test_a_correction_in_the_same_breath() -> None:
    """It may follow the reading at once."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty three percent correction sixty four percent")

    assert {"1-1": "rejected", "1-2": "corrected"} == statuses(drive)


def test_a_correction_of_a_correction() -> None:
    """The newest one stands."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty three percent")
    drive.call(10, "correction sixty four percent")
    drive.call(20, "correction sixty five percent")

    assert {"1-1": "rejected", "2-1": "rejected", "3-1": "corrected"} == statuses(drive)
    assert 1 == len({entry.at_ns for entry in drive.entries().values()})


def test_a_correction_of_nothing() -> None:
    """Without a reading of its quantity before, it is a reading of its own time."""
    drive = CalledDrive()
    drive.call(100, "correction sixty four percent")
    (entry,) = drive.entries().values()

    assert (Status.ACCEPTED, Origin.SPOKEN_CORRECTION) == (entry.status, entry.origin)
    assert 100_400_000_000 == entry.at_ns


def test_a_correction_that_cannot_be() -> None:
    """It is flagged like any other reading, and the old one is still replaced."""
    drive = CalledDrive()
    for number, charge in enumerate(("sixty five", "sixty four", "sixty three", "sixty two", "sixty one")):
        drive.call(200 * number, f"checkpoint {charge} percent")
        if charge == "sixty three":
            drive.call(200 * number + 50, "correction ninety percent")

    assert {"3-1": "rejected", "4-1": "flagged"} == {
        name: status for name, status in statuses(drive).items() if status != "accepted"
    }


def test_strike_withdraws_the_newest_call() -> None:
    """All its readings go, nothing else, and the strike itself is in the log."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty five percent")
    drive.call(200, "checkpoint sixty three percent five kilometers")
    drive.call(3700, "strike that")
    entries = drive.entries()

    assert {"1-1": "accepted", "2-1": "rejected", "2-2": "rejected", "3-1": "accepted"} == statuses(drive)
    assert "withdrawn by 'strike that' at 1:01:40 (3-1)" == entries["2-1"].reason
    assert ("note", "strike that", "withdrew 2-1, 2-2") == (
        entries["3-1"].quantity,
        entries["3-1"].note,
        entries["3-1"].reason,
    )


def test_strike_twice() -> None:
    """The second one withdraws the call before; the third finds none."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty five percent")
    drive.call(200, "checkpoint sixty three percent")
    for at_s in (210, 220, 230):
        drive.call(at_s, "strike that")

    assert ["rejected", "rejected", "accepted", "accepted", "accepted"] == list(statuses(drive).values())
    assert "there was no call to withdraw" == drive.entries()["5-1"].reason


def test_strike_in_one_breath_with_a_new_call() -> None:
    """What was said before it goes, what is said after it stands."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty five percent")
    drive.call(200, "checkpoint sixty three percent strike that checkpoint sixty four percent")
    drive.call(210, "strike that checkpoint sixty two percent")

    assert {
        "1-1": "accepted",
        "2-1": "rejected",
        "2-2": "accepted",
        "2-3": "rejected",
        "3-1": "accepted",
        "3-2": "accepted",
    } == statuses(drive)


def test_a_struck_correction_lets_the_old_value_stand_again() -> None:
    """Nothing is lost by a correction that was itself a mistake."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty three percent")
    drive.call(10, "correction sixty four percent")
    drive.call(20, "strike that")

    assert {"1-1": "accepted", "2-1": "rejected", "3-1": "accepted"} == statuses(drive)


def test_strike_withdraws_a_call_that_was_not_understood() -> None:
    """The driver takes back what the read-back got wrong, also when that was nothing."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty three percent")
    drive.call(10, "checkpoint percent")
    drive.call(20, "strike that")

    assert {"1-1": "accepted", "2-1": "rejected", "3-1": "accepted"} == statuses(drive)


def test_strike_after_a_note_is_not_clear() -> None:
    """It may mean the note or the call before it: nothing is withdrawn, a person is asked."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty three percent")
    drive.call(10, "note headwind")
    drive.call(20, "strike that")
    entries = drive.entries()

    assert {"1-1": "flagged", "2-1": "accepted", "3-1": "accepted"} == statuses(drive)
    assert (
        "'strike that' at 0:00:20 may have meant this, or the note 'headwind' said after it"
        == entries["1-1"].reason
    )


def test_a_strike_that_may_be_something_else_withdraws_nothing() -> None:
    """A likely other answer puts the call in doubt instead."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty three percent")
    drive.call(20, "strike that", "note traffic", scores=[math.log(0.6), math.log(0.4)])

    assert {"1-1": "flagged", "2-1": "flagged"} == statuses(drive)
    assert "it may have been 'note traffic'" in drive.entries()["2-1"].reason


@pytest.mark.parametrize(
    ("words", "note"),
    [
        ("note headwind", "headwind"),
        ("checkpoint note trip reset", "trip reset"),
        ("how far", "asked: how far"),
        ("say again", "asked: say again"),
    ],
)
def test_notes_and_questions_are_in_the_log(words: str, note: str) -> None:
    """They have no value, and nothing that was said vanishes."""
    drive = CalledDrive()
    drive.call(5, words)
    (entry,) = drive.entries().values()

    assert ("note", None, "", note, Status.ACCEPTED) == (
        entry.quantity,
        entry.value,
        entry.unit,
        entry.note,
        entry.status,
    )


def test_a_note_in_the_same_breath_as_a_call() -> None:
    """It is a row of its own, beside the reading's; a strike takes the reading without asking."""
    drive = CalledDrive()
    drive.call(5, "checkpoint sixty percent note headwind")
    drive.call(9, "strike that")

    assert {"1-1": "rejected", "1-2": "accepted", "2-1": "accepted"} == statuses(drive)
