"""Readings made ready to be settled."""

from __future__ import annotations

import math

import pytest
from called_drives import in_words, reader_of, values_of

from logger.core.readers import MOST_OPTIONS, Readers, certain, with_all_heard

TEN = ("10", "11", "12", "13", "14", "15", "16", "19", "20", "30")


def test_a_readings_options() -> None:
    """Those of its quantity, first answer first; what is of another quantity counts as none of them."""
    reader, _ = reader_of(
        "checkpoint six percent", "checkpoint sixty percent", "checkpoint six miles", scores=[0.0, -1.0, -0.5]
    )

    assert ["6 %", "60 %"] == values_of(reader)
    assert (0,) == reader.first
    assert reader.other_weight == pytest.approx(1.0 - sum(option.weight for option in reader.options))
    assert reader.knot().log_none == pytest.approx(math.log(reader.other_weight))


def test_there_are_no_more_options_than_a_drive_can_weigh() -> None:
    """The likeliest stay."""
    reader, _ = reader_of(
        *(f"checkpoint {in_words(number)} percent" for number in (*TEN, "40")),
        scores=[-0.1 * n for n in range(11)],
    )

    assert MOST_OPTIONS == len(reader.options)
    assert "40 %" not in values_of(reader)


def test_a_reading_in_doubt_may_be_all_that_was_heard() -> None:
    """What was too unlikely to take part, or one too many, comes back; what is of another quantity stays foreign."""
    lines = [*(f"checkpoint {in_words(number)} percent" for number in TEN), "checkpoint forty miles"]
    heard, around = reader_of(*lines, scores=[-0.1 * number for number in range(len(lines))])
    reader = with_all_heard(heard, around)

    assert values_of(reader) == [*values_of(heard), "20 %", "30 %"]
    assert len(reader.options) == len(reader.observations)
    assert ["forty miles"] == [option.heard for option in reader.foreign]
    assert heard.unheard == reader.unheard


def test_a_person_is_certain() -> None:
    """A decided value is the only option, and cannot be left out."""
    reader, _ = reader_of("checkpoint six percent")
    knot = certain(reader.observations[0])

    assert ((0.0,), True) == (knot.log_weights, knot.log_none < -500.0)


def test_readers_are_made_once() -> None:
    """The same slot read off at the same time is made ready once; another time makes another reader of it."""
    heard, around = reader_of("checkpoint sixty percent", "checkpoint fifty percent")
    readers = Readers(around)

    assert readers.of(heard.spoken) is readers.of(heard.spoken._replace())
    later = readers.of(heard.spoken._replace(at_ns=heard.spoken.at_ns + 1))
    assert later.observations[0].at_ns == heard.spoken.at_ns + 1
