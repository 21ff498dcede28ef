"""What charging that nobody noted leaves in doubt, and a distance that jumps."""

from __future__ import annotations

from decimal import Decimal

import pytest
from called_drives import CalledDrive, charges, in_words, trips

from logger.model import Action, Decision, Entry, Status

ONCE = (40, 39, 37, 70, 68, 67)
"""Charge from 40 % to 37 %, charged to 70 % while standing, and on."""


def drive(charges_pct: tuple[int, ...] = ONCE, *, noted: bool) -> CalledDrive:
    """Charges every 5 km, with a predicted range each time."""
    made = CalledDrive()
    for number, charge in enumerate(charges_pct):
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


def test_each_time_the_first_range_is_asked_about() -> None:
    """With the rise that is the newest before it as the reason, and not with an earlier one."""
    settled = drive((*ONCE, 65, 64, 95, 93, 92), noted=False).settle().entries
    ranges = [each for each in settled if each.quantity == "range_left"]
    asked = {at: each.reason for at, each in enumerate(ranges) if "no charging was noted" in each.reason}

    assert [3, 8] == list(asked)
    assert asked[3].startswith("the charge rose from 37 % to 70 % at 0:10:")
    assert asked[8].startswith("the charge rose from 64 % to 95 % at 0:26:")


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
    assert entries[5].reason == (
        "from 295 km to 200 km at 0:13:20 the trip jumped; 'three hundred and five kilometers' (305 km) was heard here as "
        "well and would fit without that"
    )


def test_it_is_suggested_that_all_are_one_mishearing() -> None:
    """A trip does not jump from 295 to 200 km, and is paid for once: what was heard as well is likelier in every one."""
    entries = settled("280", "285", "290", "295", *heard_by(range(300, 345, 5), off=-100))

    for each, value in zip(entries[4:], range(300, 345, 5), strict=True):
        assert each.value == Decimal(value - 100)
        assert each.alternatives[0].value == Decimal(value)
        assert each.alternatives[0].confidence > 0.9
        assert each.confidence < 0.1


def test_misheard_so_from_the_first_reading_on() -> None:
    """Then the jump comes where it ends, and what is before it is in doubt; what comes after is right either way."""
    entries = settled(*heard_by(range(300, 330, 5), off=-100), "330", "335", "340", "345")

    assert "f" * 6 + "aaaa" == statuses(entries)
    assert [Decimal(value) for value in range(300, 330, 5)] == [
        each.alternatives[0].value for each in entries[:6]
    ]


def test_a_charge_misheard_the_same_way_again_and_again() -> None:
    """An hour of "fifty" for "eighty", and one of them heard in no other way: it falls by 30, and comes back uncharged."""
    drive = CalledDrive()
    charges(drive, [94, 92, 91, (59, 89), (58, 88), 56, (55, 85), (53, 83), 82, 80, 79, 77])
    entries = list(drive.settle().entries)

    assert "aaa" + "f" * 5 + "aaaa" == statuses(entries)
    assert [Decimal(value) for value in (89, 88, 86, 85, 83)] == [
        max((each.confidence, each.value) for each in entry.alternatives)[1] for entry in entries[3:8]
    ]


def test_one_between_others_that_was_heard_in_one_way_only() -> None:
    """Where most on a side were heard otherwise, the rest of that side is in doubt too."""
    most = settled("280", "285", "290", *heard_by(range(295, 320, 5), off=-100), "220", "225", "230")
    few = settled("280", "285", "290", *heard_by(range(295, 310, 5), off=-100), "210", "215", "220")

    assert "aaa" + "f" * 8 == statuses(most)
    assert [Decimal(value) for value in (320, 325, 330)] == [each.alternatives[0].value for each in most[-3:]]
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
