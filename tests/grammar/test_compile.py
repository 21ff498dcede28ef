"""JSGF against pyjsgf, phrase list against the automaton."""

from __future__ import annotations

from itertools import pairwise

from outside_jsgf import read_jsgf

from grammar import Language, Phrasebook

LANGUAGE = Language(Phrasebook())


def test_pyjsgf_reads_it_and_agrees() -> None:
    """An outside JSGF library matches what we match and rejects what we reject."""
    grammar = read_jsgf(LANGUAGE.jsgf())
    for words in ("checkpoint two oh seven point five miles", "strike that", "correction a hundred percent"):
        assert grammar.find_matching_rules(words)
        assert LANGUAGE.meanings(words)
    assert not grammar.find_matching_rules("checkpoint percent")
    assert () == LANGUAGE.meanings("checkpoint percent")


def test_every_pair_of_words_is_listed() -> None:
    """Each two words that follow one another in a call are a phrase of the list."""
    phrases = set(LANGUAGE.phrase_list())
    words = ["checkpoint", "forty", "one", "percent", "one", "fifty", "three", "point", "eight", "miles"]

    assert {f"{a} {b}" for a, b in pairwise(words)} <= phrases
