"""What a doubtful reading may have been of another quantity."""

from __future__ import annotations

from called_drives import BEGAN, LANGUAGE, CalledDrive, charges, reader_of

from grammar import Reading
from logger.core.evidence import Surroundings
from logger.core.foreign import Foreign
from logger.core.reconcile import work_out
from logger.model import Drive


def test_it_is_as_likely_as_it_fits() -> None:
    """A charge in line with those before and after passes, one that is not hardly does; of a battery nothing is known."""
    drive = CalledDrive()
    charges(drive, [62, 61, 59, 58])  # the call in question comes 100 s after the first of these
    worked = work_out(
        Drive(BEGAN, ""), drive.utterances, drive.recognitions, language=LANGUAGE, place_at=drive.place_at
    )
    woven = {"charge": next(place.woven for _, place in worked.readings.values())}
    around = Surroundings(Drive(BEGAN, ""), drive.place_at, [each.start_ns for each in drive.utterances])
    reader, _ = reader_of(
        "checkpoint nine hundred kilometers left",
        "checkpoint sixty two percent",
        "checkpoint twelve percent",
        "checkpoint battery ninety nine degrees",
        scores=[0.0, -0.5, -1.0, -1.5],
    )

    judged = Foreign(woven, worked.facts, around).judged(reader)
    fits = {
        str(option.part.value): fit
        for option, fit in zip(judged.foreign, judged.foreign_fits, strict=True)
        if isinstance(option.part, Reading)
    }

    assert 1.0 == fits["62"]
    assert fits["12"] < 0.01
    assert 1.0 == fits["99"]
    assert sum(judged.foreign_weights) < sum(reader.foreign_weights)
