"""Provisional answers: the same model, given only what was said until then."""

from __future__ import annotations

from called_drives import BEGAN, LANGUAGE, CalledDrive, charges, in_words, trips

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


def test_going_back_leaves_no_trace() -> None:
    """What was corrected and what was forgotten stand again, and the next answer is the same."""
    drive = CalledDrive()
    charges(drive, [80, 79])
    drive.call(200, "correction seventy eight percent")
    live = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    pairs = list(zip(drive.utterances, drive.recognitions, strict=True))
    for pair in pairs[:2]:
        live.hear(*pair)
    before, known = live.entries, live.known()
    tried = live.hear(*pairs[2])
    live.forget(1)
    live.go_back_to(known)

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


def long_drive() -> CalledDrive:
    """Over an hour of charges and trips, some misheard, with a correction, a strike and talk in between."""
    drive = CalledDrive()
    drive.call(0, "checkpoint ninety six percent one mile note rain")
    charges(drive, [95 - number // 2 for number in range(WINDOW)], every_s=80.0)
    drive.call(4000, "checkpoint seventeen percent", "checkpoint seventy percent")
    drive.call(4050, "[unk] percent")
    drive.call(4100, "checkpoint sixty nine percent", "checkpoint sixty five percent")
    drive.call(4150, "correction sixty nine percent")
    drive.call(4200, "checkpoint nine percent")
    drive.call(4220, "strike that")
    drive.call(4300, "note charging")
    drive.call(5500, "checkpoint eighty percent")
    drive.call(5600, "checkpoint seventy nine percent")
    return drive


def test_a_drive_is_remembered_as_if_it_had_never_been_left() -> None:
    """Wherever a run ended: what was answered stands, and later calls are answered as one run would."""
    drive = long_drive()
    pairs = list(zip(drive.utterances, drive.recognitions, strict=True))
    whole = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    runs = []
    stored: dict[str, Entry] = {}
    for count, pair in enumerate(pairs):
        if count in {0, 3, WINDOW, WINDOW + 5, WINDOW + 7}:
            resumed = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
            resumed.remember(pairs[:count], list(stored.values()))
            assert whole.entries == resumed.entries
            assert whole.charge_course == resumed.charge_course
            runs.append(resumed)
        answered = whole.hear(*pair)
        stored |= {entry.id: entry for entry in whole.entries}
        for resumed in runs:
            assert answered == resumed.hear(*pair)
            assert whole.entries == resumed.entries
            assert whole.charge_course == resumed.charge_course
    assert 5 == len(runs)


def test_what_was_never_answered_is_settled_when_it_is_remembered() -> None:
    """Calls that a run left unanswered, a strike among them, which takes an answered one back; all at once."""
    drive = CalledDrive()
    charges(drive, [80, 79])
    drive.call(2000, "strike that")
    drive.call(2100, "checkpoint seventy eight percent")
    drive.call(2200, "[unk]")
    pairs = list(zip(drive.utterances, drive.recognitions, strict=True))
    whole = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    for pair in pairs[:2]:
        whole.hear(*pair)
    answered = whole.entries
    for pair in pairs[2:]:
        whole.hear(*pair)

    resumed = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    resumed.remember(pairs, answered)

    assert [Status.ACCEPTED, Status.REJECTED] == [entry.status for entry in resumed.entries[:2]]
    assert [(each.id, each.value, each.status) for each in whole.entries] == [
        (each.id, each.value, each.status) for each in resumed.entries
    ]


def test_charges_of_the_whole_drive_are_known() -> None:
    """Also when the newest calls no longer hold them, and charging is not forgotten; what was forgotten is."""
    drive = CalledDrive()
    charges(drive, [95, 94], every_s=80.0)
    drive.call(300, "note charging")
    drive.call(350, "note rain")
    for number in range(WINDOW):
        drive.call(400 + 10 * number, f"checkpoint {in_words(str(number + 1))} point five miles")
    live = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    for pair in zip(drive.utterances, drive.recognitions, strict=True):
        known = live.known()
        live.hear(*pair)
        live.go_back_to(known)
        live.hear(*pair)

    assert not {"95", "94"} & {str(entry.value) for entry in live.entries}
    assert [("95", ""), ("94", ""), ("None", "charging")] == [
        (str(entry.value), entry.note) for entry in live.charge_course
    ]
