"""What people decide after the drive stands, whatever is reconciled anew."""

from __future__ import annotations

from decimal import Decimal

import pytest
from called_drives import NANO, CalledDrive, charges

from logger.model import Action, Decision, Entry, Origin, Status


def decision(
    number: int, action: Action, entry_id: str, value: str | None = None, **changes: object
) -> Decision:
    """A decision about a charge."""
    details: dict[str, object] = {
        "id": number,
        "at_utc_ns": 0,
        "who": "Ada",
        "action": action,
        "entry_id": entry_id,
        "quantity": "charge",
        "value": None if value is None else Decimal(value),
        "unit": "%",
        "at_ns": None,
        "why": "",
    } | changes
    return Decision(**details)  # type: ignore[arg-type]


def drive_with(*values: int) -> CalledDrive:
    """Charges every 5 km."""
    drive = CalledDrive()
    charges(drive, values)
    return drive


def entry_after(entry_id: str, *decisions: Decision) -> Entry:
    """An entry of a drive whose third charge is wrong, after these decisions."""
    return drive_with(80, 78, 17, 75, 74).entries(decisions)[entry_id]


def test_accept() -> None:
    """The doubted value stands after all."""
    entry = entry_after("3-1", decision(1, Action.ACCEPT, "3-1", why="heard it again"))

    assert (Status.ACCEPTED, "17", 1.0, Origin.HEARD) == (
        entry.status,
        str(entry.value),
        entry.confidence,
        entry.origin,
    )
    assert "accepted by Ada: heard it again" == entry.reason


def test_replace() -> None:
    """The value is the typed one, and what was heard stays beside it."""
    entry = entry_after("3-1", decision(1, Action.REPLACE, "3-1", "77"))

    assert (Status.CORRECTED, "77", Origin.TYPED, "seventeen percent") == (
        entry.status,
        str(entry.value),
        entry.origin,
        entry.heard,
    )
    assert "typed by Ada instead of 17 %" == entry.reason


def test_reject() -> None:
    """The row stays, rejected."""
    entry = entry_after("2-1", decision(1, Action.REJECT, "2-1", why="passenger"))

    assert (Status.REJECTED, "78", "rejected by Ada: passenger") == (
        entry.status,
        str(entry.value),
        entry.reason,
    )


def test_the_newest_decision_counts() -> None:
    """By its number, in whatever order they come."""
    entry = entry_after(
        "3-1", decision(2, Action.REPLACE, "3-1", "76"), decision(1, Action.REPLACE, "3-1", "77")
    )

    assert "76" == str(entry.value)


def test_a_decided_value_is_certain_for_the_others() -> None:
    """After 17 % is confirmed, it is the later rise that has to be explained."""
    entries = drive_with(80, 78, 17, 75, 74).entries([decision(1, Action.ACCEPT, "3-1", "17")])

    assert "flagged" == entries["4-1"].status.value
    assert "75 % is 58 % more than the 17 % before, and no charging was noted" == entries["4-1"].reason


def test_a_rejected_value_is_out_of_the_way() -> None:
    """Two readings contradict each other; with one rejected, the other is accepted."""
    drive = drive_with(19, 89)

    assert ["rejected", "accepted"] == [
        each.status.value for each in drive.entries([decision(1, Action.REJECT, "1-1")]).values()
    ]


def test_add() -> None:
    """A typed reading has a time of its own, and belongs to the call before it; it can be rejected again."""
    added = decision(7, Action.ADD, "", "76", at_ns=500 * NANO)
    entry = drive_with(80, 78, 77, 75).entries([added])["added-7"]

    assert (Status.ACCEPTED, "76", Origin.TYPED, 3, 500 * NANO) == (
        entry.status,
        str(entry.value),
        entry.origin,
        entry.utterance_id,
        entry.at_ns,
    )
    again = drive_with(80, 78, 77, 75).entries([added, decision(8, Action.REJECT, "added-7")])["added-7"]
    assert Status.REJECTED is again.status


def test_what_was_not_understood_can_be_typed() -> None:
    """A call without a meaning becomes a reading."""
    drive = drive_with(80, 78)
    number = drive.call(400, "checkpoint percent")
    entry = drive.entries([decision(1, Action.REPLACE, f"{number}-1", "77")])["3-1"]

    assert (Status.CORRECTED, "charge", "77", "%") == (
        entry.status,
        entry.quantity,
        str(entry.value),
        entry.unit,
    )


def test_withdrawn_by_mistake() -> None:
    """A person can let a struck reading stand."""
    drive = drive_with(80, 78)
    drive.call(300, "strike that")

    assert Status.ACCEPTED is drive.entries([decision(1, Action.ACCEPT, "2-1", "78")])["2-1"].status


def test_a_decision_outlives_its_entry() -> None:
    """A later recogniser heard fewer readings in the call: the typed value is kept."""
    settled = drive_with(80, 78).settle([decision(1, Action.REPLACE, "2-3", "77")])

    assert ["77"] == [str(each.value) for each in settled.entries if each.id == "2-3"]
    assert () == settled.issues


@pytest.mark.parametrize(
    "lost",
    [
        decision(1, Action.REPLACE, "99-1", "77"),
        decision(1, Action.REJECT, "2-7"),
        decision(1, Action.REPLACE, "nonsense", "77"),
        decision(1, Action.ADD, "", "77", at_ns=None),
    ],
)
def test_a_decision_about_nothing_is_told(lost: Decision) -> None:
    """It changes nothing and is named."""
    drive = drive_with(80, 78)
    settled = drive.settle([lost])

    assert drive.settle().entries == settled.entries
    assert ["decision 1"] == [issue.message[:10] for issue in settled.issues]
