"""Searches made of automata."""

from __future__ import annotations

import pytest

from grammar import Language, Phrasebook
from logger.errors import RecogniserError
from logger.recognisers.sphinx_search import open_decoder, search_for


def test_a_word_nobody_can_pronounce_is_named() -> None:
    """A sheet's word that no dictionary has gives one clear line."""
    language = Language(Phrasebook(notes=("zzyzxqq",)))
    decoder = open_decoder(whole_utterance_mean=True, lattice=False)

    with pytest.raises(RecogniserError, match="zzyzxqq"):
        search_for(decoder, language.automaton)
