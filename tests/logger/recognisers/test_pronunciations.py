"""How words are said, against CMUdict as the package `pronouncing` carries it."""

from __future__ import annotations

import pronouncing
import pytest

from grammar import Language, Phrasebook
from logger.recognisers.pronunciations import EXTRA_PRONUNCIATIONS, PHONES, dictionary_path, pronunciations

VOCABULARY = Language(Phrasebook()).vocabulary


def test_every_word_of_the_language_can_be_said() -> None:
    """The default language has no word without a pronunciation, and all are made of CMUdict's 39 phones."""
    ways = pronunciations(VOCABULARY)

    assert VOCABULARY == ways.keys()
    assert {phone for each in ways.values() for way in each for phone in way} <= set(PHONES)
    assert 39 == len(set(PHONES))


@pytest.mark.parametrize("word", ["seven", "hundred", "thousand", "kilowatt", "zero", "fifteen", "fifty"])
def test_ways_agree_with_cmudict(word: str) -> None:
    """Each way without its stress marks is one that `pronouncing` (CMUdict) lists, or differs from one in one phone.

    The wheel's dictionary drops and adds a variant here and there.
    """
    listed = [
        tuple(phone.rstrip("012") for phone in way.split()) for way in pronouncing.phones_for_word(word)
    ]

    for way in pronunciations([word])[word]:
        nearest = min(
            sum(a != b for a, b in zip(way, other, strict=False)) + abs(len(way) - len(other))
            for other in listed
        )
        assert nearest <= 1, (way, listed)


def test_a_word_that_nobody_says_is_left_out() -> None:
    """An unknown word has no entry; words that the dictionary lacks are given by hand."""
    assert {} == pronunciations(["qwxzt"])
    assert {"tailwind"} == pronunciations(["tailwind"]).keys()
    listed = {line.split()[0] for line in dictionary_path().read_text(encoding="utf-8").splitlines()}
    assert not listed & EXTRA_PRONUNCIATIONS.keys()
