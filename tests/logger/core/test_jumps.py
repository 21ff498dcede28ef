"""What charging that nobody noted leaves in doubt."""

from __future__ import annotations

from called_drives import CalledDrive, in_words

from logger.model import Status


def drive(*, noted: bool) -> CalledDrive:
    """A drive from 40 % to 37 %, charged to 70 % while standing, and on, with a predicted range each time."""
    made = CalledDrive()
    for number, charge in enumerate((40, 39, 37, 70, 68, 67)):
        at_s = number * 200.0
        if number == 3 and noted:
            made.call(at_s - 60.0, "note charging")
        made.call(
            at_s, f"checkpoint {in_words(str(charge))} percent {in_words(str(3 * charge))} kilometers left"
        )
    return made


def test_the_first_range_after_it_is_asked_about() -> None:
    """Though it may fit; those after it are judged beside it again."""
    ranges = [each for each in drive(noted=False).settle().entries if each.quantity == "range_left"]

    assert ["flagged", "accepted", "accepted"] == [each.status.value for each in ranges[3:]]
    assert ranges[3].reason.startswith("the charge rose from 37 % to 70 % at 0:10:")
    assert "no charging was noted" in ranges[3].reason


def test_noted_charging_leaves_nothing_in_doubt() -> None:
    """Then a jump is what one expects."""
    entries = drive(noted=True).settle().entries

    assert {Status.ACCEPTED} == {each.status for each in entries}
