"""What a reading may be that its strand leaves out."""

from __future__ import annotations

import pytest
from called_drives import BEGAN, LANGUAGE, CalledDrive, in_words, trips

from logger.core.left_out import Probabilities, probabilities
from logger.core.reconcile import work_out
from logger.model import Drive, Status


def told(drive: CalledDrive, entry_id: str) -> tuple[list[str], Probabilities]:
    """The values of a reading's options, and how likely everything is."""
    worked = work_out(
        Drive(BEGAN, ""), drive.utterances, drive.recognitions, language=LANGUAGE, place_at=drive.place_at
    )
    reader, place = worked.readings[entry_id]
    return [each.text for each in reader.observations], probabilities(reader, place)


def odometers(*values: str) -> CalledDrive:
    """Odometers called out every 5 km."""
    drive = CalledDrive()
    for number, value in enumerate(values):
        drive.call(number * 200.0, f"checkpoint odometer {in_words(value)} kilometers")
    return drive


def test_all_together_it_is_one() -> None:
    """What the strand leaves out is shared, and nothing is lost or won."""
    drive = CalledDrive()
    trips(drive, ["5", "10", ("50", "14"), "20", "25"])

    for entry_id in ("1-1", "3-1"):
        _, found = told(drive, entry_id)
        assert sum(found.options) + sum(found.foreign) + found.unheard == pytest.approx(1.0, abs=1e-9)


def test_another_cars_odometer_read_once_is_likelier_than_what_would_fit() -> None:
    """It was clearly heard, and the line goes on as before: it is asked about, as it was heard."""
    drive = odometers("41200", "41205", "8317", "41215", "41220")
    values, found = told(drive, "3-1")
    entry = drive.entries()["3-1"]

    assert found.options[values.index("8317 km")] == max(found.options) > 0.5
    assert Status.FLAGGED is entry.status
    assert "41210" in {str(each.value) for each in entry.alternatives}


def test_a_trip_that_fits_nowhere_was_misheard() -> None:
    """No trip is odd once and goes on as before: what the drive makes likely is likelier, though it sounds otherwise."""
    drive = CalledDrive()
    trips(drive, [f"{5.0 * number + 0.3:.1f}" for number in range(10)])
    trips(drive, [("19.4", "90.4")])  # where 50.3 is due
    trips(drive, [f"{5.0 * number + 0.3:.1f}" for number in range(11, 16)])
    entry = drive.entries()["11-1"]

    assert (Status.FLAGGED, "19.4") == (entry.status, str(entry.value))
    assert "50.3" == str(entry.alternatives[0].value)
    assert entry.reason.endswith("; 50.3 km would fit")
