"""The recogniser that is told what was said."""

from __future__ import annotations

import numpy as np

from logger.model import RATE_HZ, HeardWord
from logger.ports import Recogniser
from logger.recognisers.typed import TypedRecogniser

SECOND = np.zeros(RATE_HZ, dtype=np.int16)


def test_answers_come_in_their_order_and_then_none() -> None:
    """Each stretch gets the next answer, an n-best list stays a list, and after the last there is nothing."""
    port: Recogniser = TypedRecogniser(["strike that", ("note rain", "note detour"), ()])
    answers = [[(each.rank, each.text, each.score) for each in port.recognise(SECOND)] for _ in range(5)]

    assert [
        [(0, "strike that", 0.0)],
        [(0, "note rain", 0.0), (1, "note detour", -1.0)],
        [],
        [],
        [],
    ] == answers
    assert port.name == "typed"


def test_words_are_spread_over_the_stretch() -> None:
    """Four words over two seconds take half a second each."""
    (answer,) = TypedRecogniser(["one two three four"]).recognise(np.concatenate((SECOND, SECOND)))
    half_ns = 500_000_000

    assert tuple(
        HeardWord(word, index * half_ns, (index + 1) * half_ns)
        for index, word in enumerate(("one", "two", "three", "four"))
    ) == (answer.words)


def test_no_sound_and_no_words_raise_nothing() -> None:
    """An empty stretch gives words without length, and an empty line an answer without words."""
    nothing = np.zeros(0, dtype=np.int16)
    typed = TypedRecogniser(["one", ""])

    assert [(0, 0)] == [(word.start_ns, word.end_ns) for word in typed.recognise(nothing)[0].words]
    assert () == typed.recognise(SECOND)[0].words
