"""Whom of two recognisers a drive teaches to believe."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from called_drives import BEGAN, LANGUAGE, SPEED_MPS, CalledDrive, answers, in_words, nowhere
from hypothesis import given
from hypothesis import strategies as st
from two_ears import drive_heard, heard, trip_km

from logger.core import trusting
from logger.core.calibration import POCKETSPHINX_WEIGHT
from logger.core.live import LiveReconciler
from logger.core.reconcile import Worked, work_out
from logger.core.trusting import AS_MEASURED, Trust, believed, learned
from logger.model import Drive, Recognition, Status


def worked(drive: CalledDrive) -> Worked:
    """The drive worked out."""
    return work_out(
        Drive(BEGAN, ""),
        drive.utterances,
        drive.recognitions,
        language=LANGUAGE,
        place_at=drive.place_at,
    )


@pytest.mark.parametrize("better", [0, 1])
def test_the_one_that_hears_this_voice_better_is_believed(better: int) -> None:
    """What GPS says of a trip tells which of the two is right; nobody else does."""
    trust = worked(drive_heard(better)).trust

    assert (trust.weight > POCKETSPHINX_WEIGHT) == (better == 1)
    assert trust.weight != POCKETSPHINX_WEIGHT


def test_a_drive_that_tells_nothing_teaches_nothing() -> None:
    """Without a track, lone temperatures fit whatever they are: both stay as measured on other voices."""
    drive = CalledDrive(nowhere)
    for number in range(30):
        drive.call(number * 4000.0, "checkpoint")
        outside = [f"checkpoint outside {in_words(str(value))} degrees" for value in (20, 21)]
        drive.recognitions[-1] = replace(
            heard((outside[0], outside[1]), (outside[1], outside[0]), apart=0.1), utterance_id=number + 1
        )

    assert AS_MEASURED == worked(drive).trust


def test_where_one_listened_alone_nothing_changes() -> None:
    """Such answers keep their scores and ranks, and the drive's own trust stays."""
    alone = Recognition(1, "pocketsphinx", answers("checkpoint six percent", "checkpoint sixty percent"))

    assert alone is believed(alone, Trust(2.0, 1.0))
    assert AS_MEASURED == learned({1: alone}, (), LANGUAGE)


def test_as_measured_is_how_they_were_joined() -> None:
    """The trust that a drive begins with gives the scores and the order that the joined list has."""
    joined = heard(
        ("checkpoint fifty percent", "checkpoint fifteen percent"), ("checkpoint fifteen percent",)
    )

    assert joined == believed(joined, AS_MEASURED)


def test_believing_the_second_more_turns_the_order_round() -> None:
    """Sums by hand: fifty 0 + 2 * -8, fifteen -3 + 0; sharpened twice, -6 of fifteen."""
    joined = heard(
        ("checkpoint fifty percent", "checkpoint fifteen percent"), ("checkpoint fifteen percent",)
    )

    again = believed(joined, Trust(2.0, 2.0))

    assert ["checkpoint fifteen percent", "checkpoint fifty percent"] == [
        each.text for each in again.hypotheses
    ]
    assert [-6.0, -32.0] == [each.score for each in again.hypotheses]
    assert [0, 1] == [each.rank for each in again.hypotheses]


@given(
    st.lists(st.tuples(st.floats(-9, 0), st.floats(-9, 0), st.floats(0.001, 1000.0)), min_size=1, max_size=6)
)
def test_the_chance_of_a_call(told: list[tuple[float, float, float]]) -> None:
    """The sum over the answers of how likely each is and how well it fits, written out with plain floats."""
    listed = answers(*(f"w{number}" for number in range(len(told))))
    listed = tuple(
        replace(answer, ear_scores=(one, other)) for answer, (one, other, _) in zip(listed, told, strict=True)
    )
    fits = [fit for _, _, fit in told]

    table = trusting.log_chances(listed, fits, 1.5)

    for row, sharpness in enumerate(trusting.SHARPNESSES):
        for column, weight in enumerate(trusting.WEIGHTS):
            shares = [math.exp(sharpness * (one + weight * other) / 1.5) for one, other, _ in told]
            fitting = sum(s * f for s, f in zip(shares, fits, strict=True)) / sum(shares) / max(fits)
            assert table[row, column] == pytest.approx(math.log(1e-3 + 0.999 * fitting), abs=1e-9)


def test_a_voice_of_which_much_is_in_no_answer() -> None:
    """A quarter of the trips are heard as nothing near: then more is kept for what nobody heard, also of the other calls."""
    clear, missed = CalledDrive(), CalledDrive()
    for number in range(40):
        for drive in (clear, missed):
            wrong = drive is missed and number % 4 == 1
            said = (
                "trip nine hundred and two kilometers"
                if wrong
                else f"trip {in_words(trip_km(number))} kilometers"
            )
            drive.call(float(trip_km(number)) * 1000.0 / SPEED_MPS, said)
            listened = heard((f"checkpoint {said}",), (f"checkpoint {said}",))
            drive.recognitions[-1] = replace(listened, utterance_id=number + 1)

    assert 0.0 == worked(clear).trust.unlisted
    assert 0.1 < worked(missed).trust.unlisted < 0.4


def test_the_whole_drive_profits() -> None:
    """With the second believed, more readings are accepted than as measured, and none is wrong."""
    drive = drive_heard(better=1)
    entries = worked(drive).entries
    accepted = [entry for entry in entries if entry.status is Status.ACCEPTED]

    assert len(accepted) >= 38
    assert all(entry.value == Decimal(trip_km(entry.utterance_id - 1)) for entry in accepted)


def test_live_it_learns_when_nobody_waits() -> None:
    """The newest calls teach; what was answered already stays answered."""
    drive = drive_heard(better=1)
    live = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    never = LiveReconciler(Drive(BEGAN, ""), LANGUAGE, drive.place_at)
    taken = {True: 0, False: 0}
    for utterance, recognition in zip(drive.utterances, drive.recognitions, strict=True):
        for learns, each in ((True, live), (False, never)):
            taken[learns] += sum(
                entry.status is Status.ACCEPTED for entry in each.hear(utterance, recognition)
            )
        live.learn()

    assert taken[True] > taken[False]
