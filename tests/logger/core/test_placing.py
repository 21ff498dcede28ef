"""When a reading was spoken: from the words' own times, else from the best answer's, else by even spacing."""

from __future__ import annotations

import pytest

from logger.core.placing import length_ns, spoken_at_ns, word_starts_ns
from logger.model import HeardWord, Hypothesis, Utterance

SECOND = 1_000_000_000
UTTERANCE = Utterance(3, 1, 0, 64_000, 100 * SECOND, "clips/3.flac")


def answer(rank: int, *words: tuple[str, float | None]) -> Hypothesis:
    """An answer with the start of each word in seconds, None where not known."""
    return Hypothesis(
        rank, tuple(HeardWord(text, None if at is None else round(at * SECOND)) for text, at in words)
    )


BEST = answer(0, ("checkpoint", 0.5), ("sixty", 1.2), ("three", 1.6), ("percent", 2.0))


def starts_s(hypothesis: Hypothesis, best: Hypothesis = BEST) -> list[float]:
    """Word starts in seconds, in a stretch of four seconds."""
    return [start / SECOND for start in word_starts_ns(hypothesis, best, 4 * SECOND)]


def test_a_stretch_is_as_long_as_its_samples() -> None:
    """64 000 samples at 16 kHz are four seconds."""
    assert 4 * SECOND == length_ns(UTTERANCE)


def test_the_recognisers_own_times_count() -> None:
    """A reading is placed at its first word, counted from the utterance's start on the drive clock."""
    assert 101_200_000_000 == spoken_at_ns(UTTERANCE, BEST, 1, BEST)


def test_other_answers_take_the_times_of_the_same_words() -> None:
    """An answer without times is aligned with the best one; the differing word lies between its neighbours."""
    other = answer(1, ("checkpoint", None), ("sixty", None), ("two", None), ("percent", None))

    assert [0.5, 1.2, 1.6, 2.0] == starts_s(other)


def test_an_own_time_is_not_overwritten() -> None:
    """Where an answer has times of its own, the best answer's do not matter."""
    other = answer(1, ("checkpoint", 0.7), ("sixty", None), ("percent", 2.2))

    assert [0.7, 1.2, 2.2] == starts_s(other)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("a", "b", "c", "d"), [0.0, 1.0, 2.0, 3.0]),
        (("a",), [0.0]),
        ((), []),
    ],
)
def test_without_any_time_words_are_spread_evenly(words: tuple[str, ...], expected: list[float]) -> None:
    """Nothing is known of the times at all."""
    untimed = answer(0, *((word, None) for word in words))

    assert expected == starts_s(untimed, untimed)


def test_missing_times_at_either_end() -> None:
    """The first words begin at the stretch's start, the last lie between the last known time and its end."""
    gappy = answer(0, ("a", None), ("b", 2.0), ("c", None), ("d", None))

    assert [0.0, 2.0, pytest.approx(2.0 + 2.0 / 3), pytest.approx(2.0 + 4.0 / 3)] == starts_s(gappy, gappy)


def test_times_outside_the_stretch_are_brought_back() -> None:
    """A recogniser that counts beyond the sound does not place a reading outside it."""
    odd = answer(0, ("a", -1.0), ("b", 9.0), ("c", None))

    assert [0.0, 4.0, 4.0] == starts_s(odd, odd)


def test_a_word_that_is_not_there() -> None:
    """A number beyond the words means the last word; without words the utterance's start counts."""
    assert 102 * SECOND == spoken_at_ns(UTTERANCE, BEST, 9, BEST)
    assert 100 * SECOND == spoken_at_ns(UTTERANCE, answer(0), 0, BEST)
