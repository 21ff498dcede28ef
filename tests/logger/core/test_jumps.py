"""What charging that nobody noted leaves in doubt, and a distance that jumps."""

from __future__ import annotations

from decimal import Decimal

import pytest
from called_drives import CalledDrive, in_words, trips

from logger.model import Action, Decision, Entry, Status


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


def heard_by(values: range, *, off: int) -> list[tuple[str, str]]:
    """Distances all heard first as so many kilometres off, and then as they are."""
    return [(str(value + off), str(value)) for value in values]


def settled(*values: str | tuple[str, str], decisions: tuple[Decision, ...] = ()) -> list[Entry]:
    """Trips called out every 5 km."""
    drive = CalledDrive()
    trips(drive, values)
    return list(drive.settle(decisions).entries)


def statuses(entries: list[Entry]) -> str:
    """A letter for each entry."""
    return "".join(each.status.value[0] for each in entries)


def test_a_voice_misheard_the_same_way_again_and_again() -> None:
    """Half an hour of "two hundred" for "three hundred": a jump and a line that goes on, to which each reading bears witness."""
    entries = settled("280", "285", "290", "295", *heard_by(range(300, 345, 5), off=-100))

    assert "aaaa" + "f" * 9 == statuses(entries)
    assert entries[4].reason == "200 km is 95.0 km less than the 295 km before, and no trip reset was noted"
    assert entries[5].reason == (
        "from 295 km to 200 km at 0:13:20 the trip jumped; 'three hundred and five kilometers' (305 km) was heard here as "
        "well and would fit without that"
    )
    assert Decimal(305) in {each.value for each in entries[5].alternatives}


def test_misheard_so_from_the_first_reading_on() -> None:
    """Then the jump comes where it ends, and what is before it is in doubt."""
    entries = settled(*heard_by(range(300, 330, 5), off=-100), "330", "335", "340", "345")

    assert "f" * 7 + "aaa" == statuses(entries)
    assert "would fit without that" in entries[0].reason


def test_one_between_others_that_was_heard_in_one_way_only() -> None:
    """Where most on a side were heard otherwise, the rest of that side is in doubt too."""
    most = settled("280", "285", "290", *heard_by(range(295, 320, 5), off=-100), "220", "225", "230")
    few = settled("280", "285", "290", *heard_by(range(295, 310, 5), off=-100), "210", "215", "220")

    assert "aaa" + "f" * 8 == statuses(most)
    assert most[-1].reason.endswith("the trip jumped, and readings after that were heard otherwise as well")
    assert "aaafffaaa" == statuses(few)


@pytest.mark.parametrize("others", [("9", "5"), ("9", "90"), ("9", "309")])
def test_a_reset_that_nobody_noted(others: tuple[str, str]) -> None:
    """It is asked about once: what else was heard after it would not have followed either."""
    assert "aaaafaaa" == statuses(
        settled("280", "285", "290", "295", "4", others, ("14", "40"), ("19", "90"))
    )


def test_a_jump_that_the_driver_confirms() -> None:
    """Who says that the trip did jump is not asked about what follows."""
    values = ("280", "285", "290", "295", *heard_by(range(300, 325, 5), off=-100))
    jumped = settled(*values)[4]
    decision = Decision(
        1, 0, "Ada", Action.ACCEPT, jumped.id, "trip", jumped.value, jumped.unit, None, "another trip meter"
    )

    assert "aaaafffff" == statuses(settled(*values))
    assert "f" not in statuses(settled(*values, decisions=(decision,)))
