"""A person's answer becomes decisions that say what was and what is to be; nothing is guessed, nothing overwritten."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest
from called_drives import LANGUAGE, NANO, CalledDrive, charges

from logger.core.decided import about_id
from logger.core.deciding import (
    Accept,
    AddMissed,
    Answer,
    Answering,
    Choices,
    EditNote,
    Reject,
    Take,
    Type,
    Undo,
    doubts,
    effect,
    ranked,
)
from logger.errors import AnswerError
from logger.model import Action, Decision, Entry, Origin, Status


def doubtful() -> CalledDrive:
    """Charges, the third of which is in doubt, a note, and a call that was not understood."""
    drive = CalledDrive()
    charges(drive, [80, 78])
    drive.call(400, "checkpoint seventeen percent", "checkpoint seventy six percent", scores=[-0.1, -0.9])
    drive.call(600, "note headwind")
    drive.call(700, "checkpoint percent")
    return drive


class Reviewer:
    """Answers one after the other."""

    def __init__(self, drive: CalledDrive) -> None:
        self.drive = drive
        self.decisions: list[Decision] = []

    @property
    def entries(self) -> dict[str, Entry]:
        """The entries after all answers."""
        return self.drive.entries(self.decisions)

    def answering(self, why: str = "") -> Answering:
        """What an answer is understood by."""
        return Answering(tuple(self.entries.values()), self.decisions, LANGUAGE, "Ada", 5, why)

    def answer(self, answer: Answer, why: str = "") -> Sequence[Decision]:
        """Answer, and store what comes of it."""
        made = self.answering(why).decide(answer)
        assert not isinstance(made, Choices)
        stored = [replace(each, id=len(self.decisions) + 1 + number) for number, each in enumerate(made)]
        self.decisions += stored
        return stored


@pytest.fixture
def reviewer() -> Reviewer:
    """Nothing answered yet."""
    return Reviewer(doubtful())


def state(entry: Entry) -> tuple[Status, str, str, str]:
    """Status, quantity, value or note, unit."""
    return entry.status, entry.quantity, entry.note if entry.value is None else str(entry.value), entry.unit


def test_accept(reviewer: Reviewer) -> None:
    """The value is pinned as it was, and the row says so."""
    (decision,) = reviewer.answer(Accept("3-1"), "heard it twice")

    assert (Action.ACCEPT, "Ada", 5, "charge", Decimal(17), "%", "heard it twice") == (
        decision.action,
        decision.who,
        decision.at_utc_ns,
        decision.quantity,
        decision.value,
        decision.unit,
        decision.why,
    )
    assert decision.was is not None
    assert Status.FLAGGED is decision.was.status
    assert state(reviewer.entries["3-1"]) == (Status.ACCEPTED, "charge", "17", "%")


def test_take(reviewer: Reviewer) -> None:
    """An alternative, by its place."""
    assert Decimal(76) == reviewer.entries["3-1"].alternatives[0].value
    reviewer.answer(Take("3-1", 0))

    entry = reviewer.entries["3-1"]
    assert state(entry) == (Status.CORRECTED, "charge", "76", "%")
    assert "seventeen percent" == entry.heard
    with pytest.raises(AnswerError, match="no alternative 99"):
        reviewer.answer(Take("3-1", 98))
    with pytest.raises(AnswerError, match="no alternative 0"):
        reviewer.answer(Take("3-1", -1))


def test_type(reviewer: Reviewer) -> None:
    """Words or digits; the words are kept as typed."""
    (decision,) = reviewer.answer(Type("3-1", "seventy five"))

    assert "seventy five" == decision.words
    assert state(reviewer.entries["3-1"]) == (Status.CORRECTED, "charge", "75", "%")
    with pytest.raises(AnswerError, match="'hello' is nothing that can be called out; a charge is a number"):
        reviewer.answer(Type("3-1", "hello"))


def test_two_meanings_are_offered(reviewer: Reviewer) -> None:
    """Which one is told by its number."""
    drive = CalledDrive()
    drive.call(0, "checkpoint outside forty degrees celsius")
    asked = Reviewer(drive)
    choices = asked.answering().decide(Type("1-1", "41 degrees"))

    assert isinstance(choices, Choices)
    celsius = "outside temperature 41 \N{DEGREE SIGN}C"
    assert {celsius, "outside temperature 41 \N{DEGREE SIGN}F"} == set(choices.texts)
    asked.answer(Type("1-1", "41 degrees", choices.texts.index(celsius)))
    assert "degC" == asked.entries["1-1"].unit
    with pytest.raises(AnswerError, match="may mean 2 things"):
        asked.answer(Type("1-1", "41 degrees", 2))


def test_what_was_not_understood(reviewer: Reviewer) -> None:
    """It becomes its first reading; the others are added at the same moment. There is nothing to accept."""
    with pytest.raises(AnswerError, match="nothing to accept"):
        reviewer.answer(Accept("5-1"))
    first, second = reviewer.answer(Type("5-1", "75% 17.5 km"))

    entries = reviewer.entries
    assert state(entries["5-1"]) == (Status.CORRECTED, "charge", "75", "%")
    assert state(entries[about_id(second)]) == (Status.ACCEPTED, "trip", "17.5", "km")
    assert entries["5-1"].at_ns == entries[about_id(second)].at_ns
    assert "5-1" == about_id(first)


def test_reject(reviewer: Reviewer) -> None:
    """The row stays, rejected."""
    reviewer.answer(Reject("3-1"))

    assert Status.REJECTED is reviewer.entries["3-1"].status


def test_add(reviewer: Reviewer) -> None:
    """At its moment, in the unit that the drive uses; a note as well."""
    reviewer.answer(AddMissed(500 * NANO, "charge 75 percent"))
    reviewer.answer(AddMissed(510 * NANO, "note rain"))

    assert [("75", 500 * NANO, Origin.TYPED), ("rain", 510 * NANO, Origin.TYPED)] == [
        (state(entry)[2], entry.at_ns, entry.origin)
        for entry in reviewer.entries.values()
        if entry.id.startswith("added-")
    ]
    assert isinstance(reviewer.answering().decide(AddMissed(0, "75")), Choices)
    with pytest.raises(AnswerError, match="say it as in the car"):
        reviewer.answer(AddMissed(0, "nothing"))


def test_edit_a_note(reviewer: Reviewer) -> None:
    """Its text as it stands; a reading has none, and an empty one is no text."""
    reviewer.answer(EditNote("4-1", "headwind from the <b>lake</b>"))

    assert state(reviewer.entries["4-1"]) == (Status.CORRECTED, "note", "headwind from the <b>lake</b>", "")
    with pytest.raises(AnswerError, match="is no note"):
        reviewer.answer(EditNote("1-1", "x"))
    with pytest.raises(AnswerError, match="needs some text"):
        reviewer.answer(EditNote("4-1", " note "))


def test_a_decided_note_counts() -> None:
    """A note changed to "charging", or added, explains a rise; one rejected does not any more."""
    drive = CalledDrive()
    charges(drive, [40, 39])
    drive.call(500, "note headwind")
    drive.call(700, "checkpoint eighty percent")
    drive.call(900, "checkpoint seventy nine percent")
    assert Status.FLAGGED is drive.entries()["4-1"].status
    noted, added = Reviewer(drive), Reviewer(drive)

    noted.answer(EditNote("3-1", "charging"))
    added.answer(AddMissed(550 * NANO, "note charging"))

    assert Status.ACCEPTED is noted.entries["4-1"].status
    assert Status.ACCEPTED is added.entries["4-1"].status
    noted.answer(Reject("3-1"))
    added.answer(Undo("added-1"))
    assert Status.FLAGGED is noted.entries["4-1"].status
    assert Status.FLAGGED is added.entries["4-1"].status


@pytest.mark.parametrize("answer", [Reject("3-1"), EditNote("3-1", "headwind")])
def test_a_note_that_a_person_took_back_counts_no_more(answer: Answer) -> None:
    """It was heard as "charging", and that explained a rise."""
    drive = CalledDrive()
    charges(drive, [40, 39])
    drive.call(500, "note charging")
    drive.call(700, "checkpoint eighty percent")
    drive.call(900, "checkpoint seventy nine percent")
    reviewer = Reviewer(drive)
    assert Status.ACCEPTED is reviewer.entries["4-1"].status

    reviewer.answer(answer)

    assert Status.FLAGGED is reviewer.entries["4-1"].status


def test_a_reading_may_have_been_a_note(reviewer: Reviewer) -> None:
    """It is out of its strand then."""
    reviewer.answer(Type("3-1", "note tailwind"))

    assert state(reviewer.entries["3-1"]) == (Status.CORRECTED, "note", "tailwind", "")


def test_undo(reviewer: Reviewer) -> None:
    """The newest decision that counts is withdrawn, one after the other, until nothing is left to undo."""
    before = reviewer.entries
    reviewer.answer(Type("3-1", "75"))
    reviewer.answer(Type("3-1", "76"))
    (decision,) = reviewer.answer(Undo("3-1"), "slip")

    assert (Action.WITHDRAW, 2, "slip") == (decision.action, decision.withdraws, decision.why)
    assert "75" == str(reviewer.entries["3-1"].value)
    reviewer.answer(Undo("3-1"))
    assert before == reviewer.entries
    with pytest.raises(AnswerError, match="nobody has decided anything about entry 3-1"):
        reviewer.answer(Undo("3-1"))


def test_undo_is_about_one_decision(reviewer: Reviewer) -> None:
    """Where one is named and somebody has decided since, theirs is not undone by mistake."""
    reviewer.answer(Type("3-1", "75"))
    reviewer.answer(Type("3-1", "76"))

    with pytest.raises(AnswerError, match="Ada has decided about entry 3-1 since"):
        reviewer.answer(Undo("3-1", 1))
    reviewer.answer(Undo("3-1", 2))
    assert "75" == str(reviewer.entries["3-1"].value)


def test_undo_adding(reviewer: Reviewer) -> None:
    """What was added stays as a rejected row, that names both."""
    reviewer.answer(AddMissed(500 * NANO, "charge 75 percent"))
    reviewer.answer(Undo("added-1"))

    entry = reviewer.entries["added-1"]
    assert Status.REJECTED is entry.status
    assert "typed by Ada; withdrawn by Ada" == entry.reason


@pytest.mark.parametrize("answer", [Accept("9-9"), Take("9-9", 0), Undo("9-9"), Reject("../x")])
def test_no_such_entry(reviewer: Reviewer, answer: Answer) -> None:
    """It is told with where ids are found."""
    with pytest.raises(AnswerError, match="there is no entry"):
        reviewer.answer(answer)


def test_what_an_answer_did(reviewer: Reviewer) -> None:
    """Doubts that vanish with it, and those that it raises."""
    drive = CalledDrive()
    charges(drive, [19, 89])
    asked = Reviewer(drive)
    before = asked.drive.settle().entries
    assert ["1-1", "2-1"] == [entry.id for entry in doubts(before)]

    asked.answer(Reject("1-1"))
    gone = effect(before, asked.entries.values(), ["1-1"])
    assert [("2-1", Status.ACCEPTED)] == [(old.id, new.status) for old, new in gone.vanished if new]
    asked.answer(Undo("1-1"))
    back = effect(drive.settle([asked.decisions[0]]).entries, asked.entries.values(), ["1-1"])
    assert ["2-1"] == [new.id for _, new in back.appeared]
    assert () == back.vanished


def test_ranked() -> None:
    """What the entry is now among its alternatives, likeliest first."""
    entry = doubtful().entries()["3-1"]
    rows = ranked(entry, LANGUAGE)

    assert sorted((row.probability for row in rows), reverse=True) == [row.probability for row in rows]
    assert {None, 0} <= {row.number for row in rows}
    assert {"charge"} == {row.quantity for row in rows}
