"""Readings and decisions in their strands."""

from __future__ import annotations

from decimal import Decimal

from called_drives import CalledDrive, charges

from logger.model import Action, Decision, Status


def decision(entry_id: str, value: str, *, number: int = 1) -> Decision:
    """A person typed a charge."""
    return Decision(number, 0, "dana", Action.REPLACE, entry_id, "charge", Decimal(value), "%", None, "")


def test_a_decided_value_settles_its_neighbours() -> None:
    """Two readings contradict each other; once a person says which is right, the other is repaired or asked about alone."""
    drive = CalledDrive()
    charges(drive, [60, (16, 59), 58])
    before = drive.entries()
    after = drive.entries([decision("1-1", "60")])

    assert Status.CORRECTED is after["1-1"].status
    assert Decimal(59) == after["2-1"].value
    assert after["2-1"].confidence >= before["2-1"].confidence - 0.01


def test_a_wrong_decision_does_not_condemn_the_rest() -> None:
    """A person's value stands whatever the drive says; what contradicts it is asked about, not changed."""
    drive = CalledDrive()
    charges(drive, [60, 59, 58, 57])
    entries = drive.entries([decision("2-1", "12")])

    assert (Decimal(12), Status.CORRECTED) == (entries["2-1"].value, entries["2-1"].status)
    assert [60, 58, 57] == [int(entries[f"{number}-1"].value or 0) for number in (1, 3, 4)]


def test_a_rejected_reading_is_in_no_strand() -> None:
    """What a person rejected says nothing of the others."""
    drive = CalledDrive()
    charges(drive, [60, 99, 58, 57])
    entries = drive.entries([Decision(1, 0, "dana", Action.REJECT, "2-1", "charge", None, "", None, "")])

    assert Status.REJECTED is entries["2-1"].status
    assert [Status.ACCEPTED] * 3 == [entries[f"{number}-1"].status for number in (1, 3, 4)]


def test_decisions_do_not_change_which_entry_is_which() -> None:
    """The make-up of a call follows from what was heard alone, so a decision stays with its reading."""
    drive = CalledDrive()
    charges(drive, [72, 71])
    number = drive.call(
        400, "checkpoint outside eighteen", "checkpoint sixty nine percent", scores=[0.0, -2.0]
    )
    charges(drive, [67, 66])
    plain = drive.entries()
    decided = drive.entries(
        [decision("1-1", "20"), decision("2-1", "19", number=2), decision("4-1", "17", number=3)]
    )

    assert "charge" == plain[f"{number}-1"].quantity == decided[f"{number}-1"].quantity
    assert set(plain) == set(decided)
