"""How well the readings of a doubtful call would fit the drive."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from called_drives import LANGUAGE, CalledDrive, PlaceAt, charges, nowhere, steady

from logger.core.candidates import as_measured, candidates, read_call
from logger.core.evidence import Surroundings, gather_facts
from logger.core.fitting import fits
from logger.core.readers import Readers
from logger.core.said import take_in
from logger.core.weaving import weave_at_first_sight
from logger.model import Drive


def fits_of(drive: CalledDrive, number: int) -> dict[str, float]:
    """What every reading that a call may mean fits."""
    calls = [
        call
        for utterance, recognition in zip(drive.utterances, drive.recognitions, strict=True)
        if (call := read_call(utterance, as_measured(recognition), LANGUAGE)) is not None
    ]
    around = Surroundings(
        Drive(1_935_558_000_000_000_000, ""), drive.place_at, [call.at_ns for call in calls]
    )
    said = take_in(calls)
    facts = gather_facts(LANGUAGE.phrasebook.quantities, said.remarks, said.readings, around)
    # With all its meanings, also where its make-up is beyond doubt.
    call = replace(calls[number - 1], found=candidates(as_measured(drive.recognitions[number - 1]), LANGUAGE))
    woven = weave_at_first_sight(said, facts, around, Readers(around))
    (found,) = fits([call], woven, facts, around)
    return {
        f"{part.quantity} {part.value}": found[part]
        for candidate in call.found
        for part in candidate.meaning.readings
    }


@pytest.mark.parametrize("place_at", [steady, nowhere])
def test_what_the_drive_makes_of_a_call(place_at: PlaceAt) -> None:
    """A charge that lies between its neighbours fits, one that does not is held against it, an unheard-of quantity says nothing."""
    drive = CalledDrive(place_at=place_at)
    charges(drive, [72, 71])
    number = drive.call(
        400, "checkpoint outside eighteen", "checkpoint sixty nine percent", "checkpoint nine percent"
    )
    charges(drive, [67, 66])
    found = fits_of(drive, number)

    assert found["charge 69"] > 1.5
    assert found["charge 9"] < -2.0
    assert 0.0 == found["outside_temperature 18"]


def test_the_call_itself_has_no_say() -> None:
    """A single call fits nothing, and nothing against it."""
    drive = CalledDrive()
    number = drive.call(0, "checkpoint sixty nine percent", "checkpoint sixty five percent")

    assert {0.0} == set(fits_of(drive, number).values())


def test_at_either_end() -> None:
    """The first and the last call have one neighbour."""
    drive = CalledDrive()
    charges(drive, [(71, 17), 70, 69, (68, 8)])

    for number, right, wrong in ((1, "charge 71", "charge 17"), (4, "charge 68", "charge 8")):
        found = fits_of(drive, number)
        assert found[right] > 1.0 > found[wrong]


def test_a_value_without_an_efficiency() -> None:
    """0 Wh/mi fits nothing."""
    drive = CalledDrive()
    drive.call(0, "checkpoint two hundred sixty watt hours per mile")
    number = drive.call(300, "checkpoint zero watt hours per mile")

    assert -math.inf == fits_of(drive, number)["efficiency 0"]
