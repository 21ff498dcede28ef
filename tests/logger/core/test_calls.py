"""What was called out on a drive, and in which make-up."""

from __future__ import annotations

import pytest
from called_drives import BEGAN, LANGUAGE, CalledDrive, charges, steady, trips

from grammar import Reading
from logger.core.calls import in_better_make_ups, read_calls
from logger.core.evidence import Surroundings
from logger.core.readers import Readers
from logger.model import Drive


def quantities(drive: CalledDrive, *, better: bool) -> list[list[str]]:
    """The quantities of each call's frame."""
    calls, _ = read_calls(drive.utterances, drive.recognitions, LANGUAGE)
    if better:
        around = Surroundings(Drive(BEGAN, ""), steady, [call.at_ns for call in calls])
        calls, _ = in_better_make_ups(calls, LANGUAGE, around, Readers(around))
    return [
        [
            slot.frame.quantity if isinstance(slot.frame, Reading) else slot.frame.kind.value
            for slot in call.slots
        ]
        for call in calls
    ]


def test_a_garbled_beginning_makes_no_reading() -> None:
    """A "trip seven, two miles left" was "two seven two miles left": one reading, not two that fit nothing."""
    drive = CalledDrive()
    trips(drive, ["20.0", "25.0", "30.0"])
    drive.call(
        600, "checkpoint trip seven two miles left", "checkpoint two seven two miles left", scores=[0.0, -3.0]
    )
    trips(drive, ["40.0", "45.0"])

    assert ["trip", "range_left"] == quantities(drive, better=False)[3]
    assert ["range_left"] == quantities(drive, better=True)[3]


def test_another_quantity_that_fits() -> None:
    """An "outside eighteen" between charges of 71 and 67 was "sixty nine percent"."""
    drive = CalledDrive()
    charges(drive, [72, 71])
    drive.call(400, "checkpoint outside eighteen", "checkpoint sixty nine percent", scores=[0.0, -2.0])
    charges(drive, [67, 66])

    assert [["outside_temperature"], ["charge"]] == [
        quantities(drive, better=better)[2] for better in (False, True)
    ]


@pytest.mark.parametrize(
    "lines",
    [
        ("correction sixty nine percent", "correction sixty nine miles"),
        ("checkpoint sixty nine percent", "note rain"),
        ("checkpoint sixty nine percent",),
    ],
)
def test_what_is_never_reframed(lines: tuple[str, ...]) -> None:
    """Corrections and notes do something to other calls: their make-up is what was heard."""
    drive = CalledDrive()
    charges(drive, [72, 71])
    drive.call(400, *lines)

    assert quantities(drive, better=False) == quantities(drive, better=True)


def test_what_is_no_call() -> None:
    """Talk is counted, an utterance nobody listened to is told."""
    drive = CalledDrive()
    drive.call(0, "[unk] miles")
    drive.call(10, "checkpoint percent")
    drive.call(20, "checkpoint six percent")
    drive.recognitions.pop()
    calls, issues = read_calls(drive.utterances, drive.recognitions, LANGUAGE)

    assert [()] == [call.slots for call in calls]
    assert {"talk", "not_recognised"} == {issue.code for issue in issues}
