"""How an entry came about: the numbers are those it was settled by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

import pytest
from called_drives import BEGAN, LANGUAGE, CalledDrive, charges, trips

from logger.core.calibration import calibration_of
from logger.core.decided import is_about
from logger.core.explaining import Explanation, Possibility, Weighing, explain, nearest_id
from logger.core.reconcile import Worked, work_out
from logger.core.rules import RULES
from logger.model import Action, Decision, Drive

SHARES = [math.log(0.6), math.log(0.4)]


def worked_out(drive: CalledDrive, decisions: Sequence[Decision] = ()) -> Worked:
    """Work a made-up drive out."""
    return work_out(
        Drive(BEGAN, ""),
        drive.utterances,
        drive.recognitions,
        language=LANGUAGE,
        place_at=drive.place_at,
        decisions=decisions,
    )


def explained(drive: CalledDrive, entry_id: str) -> Explanation:
    """Explain an entry of a drive without decisions."""
    utterance = int(entry_id.split("-", maxsplit=1)[0])
    return explain(entry_id, worked_out(drive), drive.recognitions[utterance - 1], ())


def weighed(drive: CalledDrive, entry_id: str) -> Weighing:
    """The weighing of a reading."""
    weighing = explained(drive, entry_id).weighing
    assert weighing is not None
    return weighing


def doubtful() -> CalledDrive:
    """A charge of 75 % that was heard first as 17 %, between 77 % and 74 %, each 5 km from the next."""
    drive = CalledDrive()
    charges(drive, [80, 78, 77])
    drive.call(600, "checkpoint seventeen percent", "checkpoint seventy five percent", scores=SHARES)
    charges(drive, [74, 72])
    return drive


def by_value(weighing: Weighing) -> dict[str, Possibility]:
    """The possibilities by value."""
    return {str(each.observed.value): each for each in weighing.possibilities}


def test_what_was_heard() -> None:
    """All answers, with their scores and the weights that calibration makes of them."""
    found = explained(doubtful(), "4-1")
    unlisted = calibration_of("typed").unlisted

    assert "typed" == found.recogniser
    assert unlisted == found.unlisted
    assert ["checkpoint seventeen percent", "checkpoint seventy five percent"] == [
        each.text for each in found.answers
    ]
    assert SHARES == [each.score for each in found.answers]
    assert 1.0 - unlisted == pytest.approx(sum(each.weight for each in found.answers))
    assert found.answers[0].weight > found.answers[1].weight


def test_probabilities_are_those_of_the_log() -> None:
    """Each value's probability is what the entry and its alternatives say, likeliest first; all add up to 1."""
    drive = doubtful()
    weighing = weighed(drive, "4-1")
    entry = drive.entries()["4-1"]
    told = {str(each.value): each.confidence for each in entry.alternatives}
    told[str(entry.value)] = entry.confidence

    assert ["75", "17"] == [str(each.observed.value) for each in weighing.possibilities][:2]
    assert told == {value: round(each.probability, 4) for value, each in by_value(weighing).items()}
    total = sum(each.probability for each in weighing.possibilities) + weighing.none_probability
    assert pytest.approx(1.0) == total
    assert by_value(weighing)["17"].first
    assert not by_value(weighing)["75"].first
    assert "seventy five percent" == by_value(weighing)["75"].words


def test_what_speaks_for_a_value() -> None:
    """75 % goes on as usual from 77 % and to 74 %; from 17 % only a surprise leads on, and only one led to it."""
    usual, odd = (by_value(weighed(doubtful(), "4-1"))[value] for value in ("75", "17"))

    for step in (usual.from_before, usual.to_after):
        assert step is not None
        assert step.usual > 0.0 > step.surprise
    for step in (odd.from_before, odd.to_after):
        assert step is not None
        assert step.usual < step.surprise < 0.0
    assert usual.surprise < 0.01
    assert odd.surprise > 0.9


def test_a_step_weighs_what_the_course_says() -> None:
    """ln(span ((1 - p) N(off, v) + p N(off, k^2 v))), by hand: a trip 5 km after one and 10 km before another."""
    drive = CalledDrive()
    trips(drive, ["10.2", "15.2", "20.3", "25.2", "30.2"])
    drive.call(1200, "checkpoint forty point two kilometers")
    weighing = weighed(drive, "5-1")
    course = weighing.course

    def expected(change: float, km: float) -> float:
        rounding = 2 * 0.05**2 / 3
        variance = rounding + course.jitter**2 + (course.slope_sd * km) ** 2 + course.wander * km
        off = change - course.slope * km

        def normal(scale: float) -> float:
            return math.exp(-(off**2) / (2 * variance * scale)) / math.sqrt(2 * math.pi * variance * scale)

        tail = course.tail
        return math.log(course.span * ((1 - tail) * normal(1.0) + tail * normal(course.tail_sds**2)))

    value = by_value(weighing)["30.2"]
    assert value.from_before is not None
    assert value.to_after is not None
    assert expected(5.0, 5.0) == pytest.approx(value.from_before.usual, abs=1e-6)
    assert expected(10.0, 10.0) == pytest.approx(value.to_after.usual, abs=1e-6)


def test_the_trusted_readings_beside_it() -> None:
    """Their entries, and how far away they are; a repaired one counts as what it was repaired to."""
    drive = doubtful()
    weighing = weighed(drive, "5-1")
    before, after = weighing.before, weighing.after

    assert before is not None
    assert after is not None
    assert "6-1" == after.entry_id
    assert ("4-1", "75 %") == (before.entry_id, before.observed.text)
    assert (5.0, 5.0, 200.0, 200.0) == pytest.approx((before.km, after.km, before.seconds, after.seconds))
    assert weighed(drive, "1-1").before is None
    assert by_value(weighed(drive, "1-1"))["80"].from_before is None


def test_every_rule_about_the_quantity_speaks() -> None:
    """In the order of `RULES`, of the value heard and of the likeliest."""
    weighing = weighed(doubtful(), "4-1")
    about = [rule.name for rule in RULES if rule.about("charge")]

    assert "17 %" == weighing.heard.observed.text
    assert "75 %" == weighing.likeliest.observed.text
    assert about == [each.rule for each in weighing.heard.verdicts]
    assert about == [each.rule for each in weighing.likeliest.verdicts]
    messages = [each.message for each in weighing.heard.verdicts]
    assert "17 % is 57 % less than the 74 % read later, and no charging was noted" in messages
    assert {"pass"} == {each.outcome.value for each in weighing.likeliest.verdicts}
    assert weighing.expected


def test_a_jump_is_asked_about_at_its_later_end() -> None:
    """The rules do not hold a charge without a note against the reading before it."""
    drive = CalledDrive()
    charges(drive, [44, 42, 40, 90, 88, 86])
    earlier, later = weighed(drive, "3-1"), weighed(drive, "4-1")

    assert not earlier.leads_on
    assert {"pass"} == {each.outcome.value for each in earlier.heard.verdicts}
    assert later.leads_on
    assert "fail" in {each.outcome.value for each in later.heard.verdicts}
    assert by_value(later)["90"].surprise > 0.5


def test_what_it_may_be_of_another_quantity() -> None:
    """Options of other quantities are told beside, with their values."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty percent", "checkpoint sixty kilometers", scores=SHARES)
    (other,) = weighed(drive, "1-1").others

    assert ("trip", "60 km", "sixty kilometers") == (other.quantity, other.text, other.words)
    assert 0.3 < other.weight < 0.5


def test_the_clock() -> None:
    """How far the clock is ahead of UTC goes with the weighing."""
    drive = CalledDrive()
    drive.call(0, "checkpoint time eight a m")
    drive.call(600, "checkpoint time eight ten a m")
    weighing = weighed(drive, "1-1")

    assert weighing.clock_ahead_min == pytest.approx(60.0, abs=1.0)
    assert weighed(doubtful(), "4-1").clock_ahead_min is None


@pytest.mark.parametrize(
    "lines",
    [("note headwind",), ("checkpoint percent",)],
    ids=["note", "unheard"],
)
def test_what_is_no_reading_is_not_weighed(lines: tuple[str, ...]) -> None:
    """Its answers are told."""
    drive = CalledDrive()
    drive.call(0, *lines)
    found = explained(drive, "1-1")

    assert found.weighing is None
    assert list(lines) == [each.text for each in found.answers]


def test_what_was_replaced_is_not_weighed() -> None:
    """It takes no part in the drive any more."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty percent")
    drive.call(60, "correction sixty one percent")

    assert explained(drive, "1-1").weighing is None
    assert explained(drive, "2-1").weighing is not None


def test_what_nobody_heard() -> None:
    """An entry that was typed has only its decision."""
    decision = _decision(3, Action.ADD, "")
    found = explain("added-3", worked_out(doubtful(), [decision]), None, [decision])

    assert ("", (), None, (decision,)) == (
        found.recogniser,
        found.answers,
        found.weighing,
        found.decisions,
    )


def test_what_a_decision_is_about() -> None:
    """Its entry, or the one it added."""
    added, replaced = _decision(3, Action.ADD, ""), _decision(4, Action.REPLACE, "4-1")

    assert is_about(added, "added-3")
    assert not is_about(added, "")
    assert is_about(replaced, "4-1")
    assert not is_about(replaced, "added-4")


def test_a_decided_neighbour_has_its_entry() -> None:
    """What a person decided is trusted, and named."""
    drive = doubtful()
    decision = _decision(1, Action.REPLACE, "3-1")
    weighing = explain("4-1", worked_out(drive, [decision]), drive.recognitions[3], ()).weighing

    assert weighing is not None
    assert weighing.before is not None
    assert ("3-1", "76 %") == (weighing.before.entry_id, weighing.before.observed.text)


@pytest.mark.parametrize(
    ("wrong", "meant"),
    [
        ("12.2", "12-2"),
        ("12_1", "12-1"),
        ("12-9", "12-2"),
        ("12", "12-1"),
        ("12-x", "12-1"),
        ("12-" + "9" * 5000, "12-2"),
        ("2-1", "12-1"),
        ("add-3", "added-3"),
        ("added3", "added-3"),
        ("charge", ""),
        ("", ""),
        ("-", ""),
    ],
)
def test_the_nearest_id(wrong: str, meant: str) -> None:
    """Another part of the same call, else one that is written nearly so, else none."""
    assert meant == nearest_id(wrong, ["1-1", "12-1", "12-2", "added-3"])


def _decision(number: int, action: Action, entry_id: str) -> Decision:
    at_ns = 0 if action is Action.ADD else None
    return Decision(number, 0, "Ada", action, entry_id, "charge", Decimal(76), "%", at_ns, "")
