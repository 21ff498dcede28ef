"""When a reading is accepted, repaired or flagged, and what its entry says."""

from __future__ import annotations

import math

import pytest
from called_drives import CalledDrive, charges, in_words, nowhere, trips

from logger.model import Entry, Origin, Status


def lists(*shares: float) -> list[float | None]:
    """Scores of an n-best list with these shares."""
    return [math.log(share) for share in shares]


def beside(*lines: str, shares: tuple[float, ...]) -> Entry:
    """The entry of a charge called out between 77 % and 74 %, 5 km from each."""
    drive = CalledDrive()
    charges(drive, [80, 78, 77])
    number = drive.call(600, *lines, scores=lists(*shares))
    charges(drive, [74, 72])
    return drive.entries()[f"{number}-1"]


def test_a_value_that_fits_is_accepted() -> None:
    """No rival, no rule against it: nothing to say."""
    entry = beside("checkpoint seventy five percent", shares=(1.0,))

    assert (Status.ACCEPTED, Origin.HEARD, "", ()) == (
        entry.status,
        entry.origin,
        entry.reason,
        entry.alternatives,
    )
    assert 0.99 < entry.confidence <= 1.0


def test_a_first_answer_that_cannot_be_is_repaired() -> None:
    """Another answer fits between the readings before and after: it is taken, and the log says what was heard first."""
    entry = beside("checkpoint seventeen percent", "checkpoint seventy five percent", shares=(0.7, 0.3))

    assert (Status.ACCEPTED, Origin.REPAIRED, "75") == (entry.status, entry.origin, str(entry.value))
    assert "seventy five percent" == entry.heard
    assert (
        "heard first as 'seventeen percent', but 17 % is 57 % less than the 74 % read later, and no charging was noted"
        == entry.reason
    )
    assert ["17"] == [str(each.value) for each in entry.alternatives]


def test_an_unlikely_other_answer_is_taken_where_nothing_else_is_possible() -> None:
    """Between 77 % and 74 % the car cannot have had 17 %, however clearly it was heard."""
    entry = beside("checkpoint seventeen percent", "checkpoint seventy five percent", shares=(0.99, 0.01))

    assert (Status.ACCEPTED, Origin.REPAIRED, "75") == (entry.status, entry.origin, str(entry.value))


def test_what_nobody_heard_is_only_suggested() -> None:
    """No answer has "seventy", but it sounds like "seventeen" and fits: a person is asked."""
    drive = CalledDrive()
    charges(drive, [72, 71])
    number = drive.call(400, "checkpoint seventeen percent")
    charges(drive, [69, 68])
    entry = drive.entries()[f"{number}-1"]

    assert (Status.FLAGGED, "17") == (entry.status, str(entry.value))
    assert entry.reason.endswith("; 'seventy percent' (70 %) sounds alike and fits")
    assert ("70", True) == (str(entry.alternatives[0].value), entry.alternatives[0].confidence > 0.9)


def test_a_dash_that_was_switched() -> None:
    """The number fits in kilometers, though miles were said: suggested, not taken."""
    drive = CalledDrive()
    trips(drive, ["100.0", "105.1", "110.0"])
    number = drive.call(600, "checkpoint trip one fifteen point two")
    trips(drive, ["120.1", "125.0"])
    entry = drive.entries()[f"{number}-1"]

    assert (Status.FLAGGED, "115.2", "mi") == (entry.status, str(entry.value), entry.unit)
    assert ("115.2", "km") == (str(entry.alternatives[0].value), entry.alternatives[0].unit)


def test_two_other_answers_that_fit_are_not_chosen_between() -> None:
    """Both are offered, the likelier first."""
    entry = beside(
        "checkpoint seventeen percent",
        "checkpoint seventy five percent",
        "checkpoint seventy six percent",
        shares=(0.5, 0.3, 0.2),
    )

    assert (Status.FLAGGED, "17") == (entry.status, str(entry.value))
    assert ["75", "76"] == [str(each.value) for each in entry.alternatives]


def test_a_rival_that_fits_as_well_is_asked_about() -> None:
    """The drive allows both, and the recogniser is not sure enough."""
    entry = beside("checkpoint seventy five percent", "checkpoint seventy six percent", shares=(0.8, 0.2))

    assert (Status.FLAGGED, "75") == (entry.status, str(entry.value))
    assert "'seventy six percent' (76 %) sounds alike and fits as well" == entry.reason
    assert [("76", pytest.approx(0.2, abs=0.01))] == [
        (str(each.value), each.confidence) for each in entry.alternatives
    ]


def test_the_rules_leave_no_rival() -> None:
    """The same doubt of the recogniser, but the drive decides."""
    entry = beside("checkpoint seventy five percent", "checkpoint sixteen percent", shares=(0.6, 0.4))

    assert (Status.ACCEPTED, "75") == (entry.status, str(entry.value))


def test_a_call_that_may_be_none_is_asked_about() -> None:
    """The likelier answer is outside the language: the words may have been no call at all."""
    entry = beside("checkpoint hello", "checkpoint seventy five percent", shares=(0.6, 0.4))

    assert Status.FLAGGED is entry.status
    assert "the recogniser was sure of these words by 40% only" == entry.reason


def test_another_quantity_is_offered() -> None:
    """Miles may have been miles left: the words tell, and the shares add up to no more than 1."""
    drive = CalledDrive()
    drive.call(0, "checkpoint one oh nine miles", "checkpoint one oh nine miles left", scores=lists(0.6, 0.4))
    (entry,) = drive.entries().values()

    assert (Status.FLAGGED, "it may have been 'one oh nine miles left' instead") == (
        entry.status,
        entry.reason,
    )
    assert ["one oh nine miles left"] == [each.heard for each in entry.alternatives if each.confidence > 0.01]
    assert entry.confidence + sum(each.confidence for each in entry.alternatives) <= 1.0001


def test_a_surprise_that_later_readings_bear_out_is_flagged_once() -> None:
    """The car was charged and nobody said so: the value stays, with the reason; what follows is accepted."""
    drive = CalledDrive()
    charges(drive, [40, 38, 80, 78, 77])
    entries = list(drive.entries().values())

    assert ["accepted", "accepted", "flagged", "accepted", "accepted"] == [
        each.status.value for each in entries
    ]
    assert "80" == str(entries[2].value)
    assert "80 % is 42 % more than the 38 % before, and no charging was noted" == entries[2].reason


def test_a_surprise_is_never_replaced_by_what_fits() -> None:
    """The last reading after an unnoted charge has an answer that would fit; nothing later contradicts it, so a person is asked."""
    drive = CalledDrive()
    charges(drive, [20, 19, 18])
    drive.call(600, "checkpoint eighty percent", "checkpoint eighteen percent", scores=lists(0.5, 0.5))
    entry = drive.entries()["4-1"]

    assert (Status.FLAGGED, "80") == (entry.status, str(entry.value))


def test_on_which_side_of_a_jump_a_reading_lies_is_asked_about() -> None:
    """Charging that nobody noted, and "eighty five" heard as "fifty five" by far: 55 fits what was before, 85 what comes after."""
    drive = CalledDrive()
    charges(drive, [60, 59, 57])
    said = tuple(f"checkpoint {in_words(value)} percent" for value in ("55", "85"))
    drive.call(600.0, *said, scores=[0.0, -8.0])
    charges(drive, [84, 82, 81, 79])
    entry = drive.entries()["4-1"]

    assert (Status.FLAGGED, "55") == (entry.status, str(entry.value))
    assert "85" in [str(each.value) for each in entry.alternatives]
    assert "a jump follows; 'eighty five percent' (85 %)" in entry.reason


def test_words_as_clear_as_can_be_are_not_called_unclear() -> None:
    """Where the drive and not the sound leaves a doubt, the sentence says so."""
    drive = CalledDrive()
    charges(drive, [60, 59, 57, 55, 40, 53, 52])
    entry = drive.entries()["5-1"]

    assert Status.FLAGGED is entry.status
    assert "100%" not in entry.reason


def test_a_descent_is_asked_about() -> None:
    """One percent up is a doubt at both ends, since either may be misheard."""
    drive = CalledDrive()
    charges(drive, [60, 59, 60, 58, 57])
    entries = drive.entries()

    assert ["accepted", "flagged", "flagged", "accepted", "accepted"] == [
        each.status.value for each in entries.values()
    ]
    assert "59 % is 1 % less than the 60 % read later, and no charging was noted" == entries["2-1"].reason
    assert "60 % is 1 % more than the 59 % before, and no charging was noted" == entries["3-1"].reason


def test_a_descent_is_not_repaired() -> None:
    """Another answer that fits better than a doubted one is offered, not taken."""
    drive = CalledDrive()
    charges(drive, [60, 59])
    drive.call(400, "checkpoint sixty percent", "checkpoint fifty nine percent", scores=lists(0.7, 0.3))
    charges(drive, [58, 57])
    entry = drive.entries()["3-1"]

    assert (Status.FLAGGED, "60", ["59"]) == (
        entry.status,
        str(entry.value),
        [str(each.value) for each in entry.alternatives],
    )


def test_two_readings_that_contradict_each_other_are_both_asked_about() -> None:
    """Nothing says which is wrong."""
    drive = CalledDrive()
    charges(drive, [50, 86])
    first, second = drive.entries().values()

    assert [Status.FLAGGED, Status.FLAGGED] == [first.status, second.status]
    assert "the words are clear, but other readings make the value unlikely" == first.reason
    assert (
        second.reason == "86 % is 36 % more than the 50 % before, and no charging was noted; 48 % would fit"
    )


def test_of_two_readings_the_one_that_may_have_been_misheard_is_asked_about() -> None:
    """A "nineteen" may have been "ninety", which fits; an "eighty eight" sounds like nothing that fits."""
    drive = CalledDrive()
    charges(drive, [19, 88, 87])
    first, *later = drive.entries().values()

    assert [Status.FLAGGED, Status.ACCEPTED, Status.ACCEPTED] == [
        first.status,
        *[each.status for each in later],
    ]
    assert "19 % is 69 % less than the 88 % read later, and no charging was noted" in first.reason
    assert "'ninety percent' (90 %) sounds alike and fits" in first.reason


def test_one_early_mishearing_condemns_nothing_later() -> None:
    """The first reading is wrong: only it is asked about, with what it may have been."""
    drive = CalledDrive()
    charges(drive, [18, 78, 77, 74])
    first, *later = drive.entries().values()

    assert [Status.ACCEPTED] * 3 == [each.status for each in later]
    assert Status.FLAGGED is first.status
    assert "80" == str(first.alternatives[0].value)


def test_a_trip_off_the_gps_distance_names_both() -> None:
    """The sentence of issue 3, with the answer that fits."""
    drive = CalledDrive()
    trips(drive, ["100.0", "105.1", "110.0"])
    drive.call(
        600,
        "checkpoint one fifty point two kilometers",
        "checkpoint one fifteen point two kilometers",
        scores=lists(0.99, 0.01),
    )
    entry = drive.entries()["4-1"]

    assert Status.FLAGGED is entry.status
    assert (
        "150.2 km would be 35.2 km more than GPS drove since 110 km; "
        "'one fifteen point two kilometers' (115.2 km) sounds alike and fits, but no trusted reading follows"
        == entry.reason
    )


def test_a_value_beyond_the_sheets_limits_is_kept_and_flagged() -> None:
    """It is not dropped."""
    drive = CalledDrive()
    drive.call(0, "checkpoint outside one ninety degrees")
    (entry,) = drive.entries().values()

    assert (Status.FLAGGED, "190") == (entry.status, str(entry.value))
    assert entry.reason.startswith(
        "190 °F is above the sheet's highest, 140 °F; 'outside one nineteen degrees'"
    )


def test_gps_time_tells_morning_from_evening() -> None:
    """The half of the day that nobody said is settled, and is no repair."""
    drive = CalledDrive()
    for minute, words in ((1, "seven oh one"), (9, "seven oh nine"), (20, "seven twenty")):
        drive.call(60 * minute, f"checkpoint time {words}")

    assert [
        ("421", Status.ACCEPTED, Origin.HEARD),
        ("429", Status.ACCEPTED, Origin.HEARD),
        ("440", Status.ACCEPTED, Origin.HEARD),
    ] == [(str(each.value), each.status, each.origin) for each in drive.entries().values()]


def test_without_gps_nothing_tells_morning_from_evening() -> None:
    """Then a person is asked, and both are there."""
    drive = CalledDrive(place_at=nowhere)
    drive.call(60, "checkpoint time seven oh one")
    (entry,) = drive.entries().values()

    assert Status.FLAGGED is entry.status
    assert {421, 1141} == {int(entry.value or 0), *(int(each.value) for each in entry.alternatives)}


def test_shares_are_rounded_and_ranked() -> None:
    """Four decimals, best first, adding up to no more than 1 but for the rounding."""
    entry = beside(
        "checkpoint seventy five percent",
        "checkpoint seventy six percent",
        "checkpoint seventy four percent",
        shares=(0.5, 0.3, 0.2),
    )
    shares = [entry.confidence, *(each.confidence for each in entry.alternatives)]

    assert shares == [round(share, 4) for share in shares]
    assert shares[1:] == sorted(shares[1:], reverse=True)
    assert sum(shares) <= 1.0 + 1e-3
