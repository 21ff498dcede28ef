"""What a doubtful reading may have been: by its sound, and by the drive. Nothing of it is ever accepted by itself."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import pytest
from called_drives import LANGUAGE, CalledDrive, reader_of, trips, values_of

from logger.core.expecting import Likely
from logger.core.guessing import MOST_ALIKE, MOST_LIKELY_VALUES, with_guesses
from logger.model import Status


def test_guesses_are_what_the_words_may_have_been() -> None:
    """Of the same quantity, each value once, none that was heard; they share half of what no answer has."""
    heard, around = reader_of("checkpoint sixty four percent", "checkpoint sixty five percent")
    reader = with_guesses(heard, LANGUAGE, around)
    guesses = [option for option in reader.options if option.guessed]

    assert 0 < len(guesses) <= MOST_ALIKE
    assert len(set(values_of(reader))) == len(values_of(reader))
    assert "65 %" not in values_of(reader)[2:]
    assert "54 %" in values_of(reader)
    assert sum(option.weight for option in guesses) == pytest.approx(0.5 * 0.001, rel=1e-6)
    assert [option.weight for option in guesses] == sorted(
        (option.weight for option in guesses), reverse=True
    )


@pytest.mark.parametrize(
    ("heard", "likely", "said"),
    [
        ("trip oh point two miles", ["48.1", "48.2", "48.3"], "trip forty eight point two miles"),
        ("two miles left", ["271", "272"], "two seventy two miles left"),
        ("ten percent", ["9", "8"], "eight percent"),
        ("odometer thirty eight seventy five miles", ["3879"], "odometer thirty eight seventy nine miles"),
        ("time seven fourteen p m", ["1181"], "time seven forty one p m"),
        ("time twelve twenty five a m", ["749"], "time twelve twenty nine p m"),
        ("a hundred and thirty one point four miles", ["134.4"], "one hundred thirty four point four miles"),
        ("outside forty degrees", ["-7"], "outside minus seven degrees"),
    ],
)
def test_what_a_drive_makes_likely_is_put_in_the_words_that_were_heard(
    heard: str, likely: Sequence[str], said: str
) -> None:
    """The number alone is another one; what is nearest in words comes first."""
    reader, around = reader_of(f"checkpoint {heard}")
    guessed = with_guesses(
        reader, LANGUAGE, around, [Likely(Decimal(value), 1.0 / len(likely)) for value in likely]
    )
    words = {option.heard: option for option in guessed.options if option.guessed}

    assert said in words
    assert words[said].weight == max(
        option.weight
        for option, observed in zip(guessed.options, guessed.observations, strict=True)
        if option.guessed and str(observed.value) in likely
    )


def test_few_are_guessed_however_many_are_likely() -> None:
    """Those nearest to what was heard; what was heard itself is none."""
    reader, around = reader_of("checkpoint trip forty eight point two miles")
    likely = [Likely(Decimal(step).scaleb(-1), 1.0 / 60.0) for step in range(440, 500)]
    guessed = with_guesses(reader, LANGUAGE, around, likely)

    assert len(guessed.options) - len(reader.options) <= MOST_ALIKE + MOST_LIKELY_VALUES
    assert len(set(values_of(guessed))) == len(values_of(guessed))
    assert with_guesses(reader, LANGUAGE, around).options != guessed.options


def test_a_lost_number_is_suggested_and_not_taken() -> None:
    """Half of a trip's number was lost: the drive says which one ends that way. It is asked about all the same."""
    drive = CalledDrive()
    trips(drive, [f"{5.0 * number + 0.3:.1f}" for number in range(10)])
    trips(drive, ["0.3"])  # where 50.3 is due
    trips(drive, [f"{5.0 * number + 0.3:.1f}" for number in range(11, 16)])
    entry = drive.entries()["11-1"]

    assert (Status.FLAGGED, "0.3") == (entry.status, str(entry.value))
    assert "50.3" == str(entry.alternatives[0].value)
    assert "'fifty point three kilometers' (50.3 km) sounds alike and fits" in entry.reason
