"""Provisional answers: the same model, given only what was said until then."""

from __future__ import annotations

from called_drives import BEGAN, LANGUAGE, CalledDrive, charges, trips

from logger.core.live import WINDOW, LiveReconciler
from logger.model import Drive, Entry, Origin, Status


def heard_live(drive: CalledDrive) -> list[tuple[Entry, ...]]:
    """What was answered to each call as it was said."""
    live = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    return [
        live.hear(utterance, recognition)
        for utterance, recognition in zip(drive.utterances, drive.recognitions, strict=True)
    ]


def test_the_last_answer_is_that_of_the_whole_drive() -> None:
    """Up to the window the newest call is answered as reconciling everything until then would."""
    drive = CalledDrive()
    charges(drive, [80, (17, 79), 77, 76, (18, 75)])
    trips(drive, ["40.0", "45.1"])

    for count, answers in enumerate(heard_live(drive), start=1):
        until = CalledDrive(drive.place_at, drive.utterances[:count], drive.recognitions[:count])
        assert answers == tuple(each for each in until.settle().entries if each.utterance_id == count)


def test_what_does_not_fit_is_asked_about_at_once_and_repaired_later() -> None:
    """Live nothing later bears it out; the whole drive does."""
    drive = CalledDrive()
    charges(drive, [80, 79, (17, 77), 76, 75])
    (live,), settled = heard_live(drive)[2], drive.entries()["3-1"]

    assert (Status.FLAGGED, "17") == (live.status, str(live.value))
    assert (Status.ACCEPTED, Origin.REPAIRED, "77") == (settled.status, settled.origin, str(settled.value))


def test_talk_is_answered_by_nothing() -> None:
    """A stretch in which no call was heard."""
    drive = CalledDrive()
    drive.call(0)
    drive.call(10, "[unk] miles")
    drive.call(20, "checkpoint six percent")

    assert [(), (), 1] == [answers if not answers else len(answers) for answers in heard_live(drive)]


def test_parts_are_in_the_order_spoken() -> None:
    """Also a note in the same breath, and a correction, whose time is that of what it replaces."""
    drive = CalledDrive()
    drive.call(0, "checkpoint sixty percent five miles note rain")
    drive.call(10, "correction fifty nine percent")
    first, second = heard_live(drive)

    assert ["1-1", "1-2", "1-3"] == [each.id for each in first]
    assert [("2-1", Status.CORRECTED)] == [(each.id, each.status) for each in second]


def test_an_hour_later_it_still_answers() -> None:
    """Older calls than the window are forgotten; a true drive is accepted all along."""
    drive = CalledDrive()
    charges(drive, [95 - number // 2 for number in range(WINDOW + 40)], every_s=80.0)

    assert {Status.ACCEPTED} == {entry.status for answers in heard_live(drive) for entry in answers}


def test_a_call_that_took_longer_to_hear_has_its_place() -> None:
    """Heard after the next one, it is answered as if it had come in time: what it corrects was said before it."""
    drive = CalledDrive()
    drive.call(0, "checkpoint eighty percent")
    drive.call(60, "correction seventy nine percent")
    drive.call(120, "checkpoint seventy eight percent")
    live = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    for number in (0, 2, 1):
        live.hear(drive.utterances[number], drive.recognitions[number])

    assert [("80", "rejected"), ("79", "corrected"), ("78", "accepted")] == [
        (str(entry.value), entry.status.value) for entry in live.entries
    ]


def test_trying_out_leaves_no_trace() -> None:
    """It answers as hearing would, what it would correct stands, and the next answer is the same."""
    drive = CalledDrive()
    charges(drive, [80, 79])
    drive.call(200, "correction seventy eight percent")
    live = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    pairs = list(zip(drive.utterances, drive.recognitions, strict=True))
    for pair in pairs[:2]:
        live.hear(*pair)
    before = live.entries
    tried = live.try_out(*pairs[2])

    assert before == live.entries
    assert tried == live.hear(*pairs[2])
    assert before != live.entries


def test_what_is_taken_back_undoes_what_it_did() -> None:
    """A correction that was no call after all: the corrected reading stands again."""
    drive = CalledDrive()
    charges(drive, [80, 79])
    drive.call(200, "correction seventy eight percent")
    live = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    for pair in zip(drive.utterances, drive.recognitions, strict=True):
        live.hear(*pair)
    live.take_back(3)

    assert [("80", "accepted"), ("79", "accepted")] == [
        (str(entry.value), entry.status.value) for entry in live.entries
    ]


def test_a_stretch_that_a_longer_one_holds_is_forgotten() -> None:
    """Its reading has no say any more, as if it had never been heard; what stands is told after each call."""
    drive = CalledDrive()
    charges(drive, [80, 79, 78])
    live = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    pairs = list(zip(drive.utterances, drive.recognitions, strict=True))
    for utterance, recognition in pairs[:2]:
        live.hear(utterance, recognition)
    assert ["80", "79"] == [str(entry.value) for entry in live.entries]

    live.forget(drive.utterances[1].id)
    live.hear(*pairs[2])

    assert ["80", "78"] == [str(entry.value) for entry in live.entries]
