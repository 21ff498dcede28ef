"""A phrasebook refuses what could not be told apart."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grammar import GrammarError, Language, Phrasebook, default_quantities


def test_two_quantities_said_alike_are_refused() -> None:
    """Trip and odometer cannot both be a bare number of miles."""
    trip, odometer = default_quantities()[1:3]
    with pytest.raises(GrammarError, match="would both be said"):
        Phrasebook((trip, replace(odometer, bare=True)))


def test_words_must_be_plain() -> None:
    """No capitals, no digits."""
    for lead in ("Mark", "mark2", " "):
        with pytest.raises(GrammarError):
            Phrasebook(lead=lead)


def test_open_mode_needs_no_lead_word() -> None:
    """With an empty lead word a call is its readings."""
    assert Language(Phrasebook(lead="")).meanings("sixty percent")
