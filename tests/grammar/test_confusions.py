"""What words may have been instead: held to how they sound, by the CMU dictionary of the pocketsphinx wheel."""

from __future__ import annotations

import itertools
import statistics

import pytest
from rapidfuzz.distance import Levenshtein

from grammar import Confusion, Language, Phrasebook, Reading, confusions
from grammar.confusions import ALIKE
from grammar.words import ONES, TEENS, TENS, ZEROS
from logger.recognisers.pronunciations import pronunciations

NUMBER_WORDS = sorted({*ONES, *TEENS, *TENS, *ZEROS})


def words_for(text: str) -> dict[str, float]:
    """What a phrase may have been instead, with the lowest cost of each."""
    found: dict[str, float] = {}
    for each in confusions(text.split()):
        line = " ".join(each.words)
        found[line] = min(each.cost, found.get(line, each.cost))
    return found


def test_words_that_count_as_alike_sound_alike() -> None:
    """By phones (Levenshtein's distance over the longer word, CMUdict) they are nearer than other pairs of number words."""
    spoken = pronunciations(NUMBER_WORDS)

    def apart(one: str, other: str) -> float:
        return min(Levenshtein.normalized_distance(a, b) for a in spoken[one] for b in spoken[other])

    alike = [apart(one, other) for one, others in ALIKE.items() for other, _ in others]
    rest = [
        apart(one, other)
        for one, other in itertools.combinations(NUMBER_WORDS, 2)
        if other not in dict(ALIKE.get(one, ()))
    ]
    assert statistics.mean(alike) < statistics.mean(rest) - 0.2
    assert sum(each < statistics.median(rest) for each in alike) > 0.8 * len(alike)


def test_the_nearer_the_cheaper() -> None:
    """Teen and ty differ by an unstressed ending and cost least of all pairs."""
    teens = {f"{stem}teen" for stem in ("thir", "four", "fif", "six", "seven", "eigh", "nine")}
    cheapest = min(cost for others in ALIKE.values() for _, cost in others)

    assert all(cheapest == min(cost for _, cost in ALIKE[teen]) for teen in teens)


def test_it_goes_both_ways() -> None:
    """What sounds like another is sounded like by it, at the same cost."""
    for word, others in ALIKE.items():
        assert all((word, cost) in ALIKE[other] for other, cost in others)


@pytest.mark.parametrize(
    ("heard", "said"),
    [
        ("seventeen percent", "seventy percent"),
        ("sixty four percent", "sixty five percent"),
        ("twenty nine percent", "twenty five percent"),
        ("ninety seven two miles", "ninety seven point two miles"),
        ("one point five miles", "one five miles"),
        ("two seven miles", "two hundred seven miles"),
        ("two hundred seven miles", "two seven miles"),
        ("one five point two miles", "one one five point two miles"),
        ("one one five point two miles", "one five point two miles"),
        ("twenty eight miles", "eight miles"),
    ],
)
def test_the_mistakes_recognisers_make(heard: str, said: str) -> None:
    """Teen for ty, four for five, five for nine, a lost point or hundred, a repeated digit lost, a lost ten."""
    assert said in words_for(heard)


def test_each_is_one_mistake_away() -> None:
    """Nothing is yielded that is the phrase itself, and every cost is that of a mistake."""
    for text in ("one hundred and eighteen point nine miles", "sixty three percent", ""):
        found = words_for(text)
        assert text not in found
        assert all(cost >= 2.0 for cost in found.values())


def test_words_that_are_no_numbers_stay() -> None:
    """Units and keywords are not touched."""
    assert {"outside", "degrees"} <= set.intersection(
        *(set(line.split()) for line in words_for("outside forty four degrees"))
    )


def test_many_are_of_the_language() -> None:
    """Most of what is yielded for a usual reading means something, as one reading of the same quantity."""
    language = Language(Phrasebook())
    meant = [
        meaning.parts
        for each in confusions(["ninety", "seven", "point", "two", "miles"])
        for meaning in language.meanings(("checkpoint", *each.words))
    ]
    values = {str(part.value) for (part,) in meant if isinstance(part, Reading)}

    assert {"7.2", "97.3", "97.8"} <= values


def test_a_confusion_says_what_it_costs() -> None:
    """The record."""
    assert Confusion(("seventy", "percent"), 2.5) in set(confusions(["seventeen", "percent"]))
