"""What is spoken to train and to test: random calls over a vocabulary, some shaped like real ones."""

from __future__ import annotations

import random
from collections.abc import Collection, Sequence
from itertools import pairwise

ONES = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()  # noqa: SIM905
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
UNITS = (
    "percent",
    "miles",
    "miles left",
    "kilometers",
    "kilometers left",
    "kilometers per hour",
    "miles per hour",
    "miles per kilowatt hour",
    "kilometers per kilowatt hour",
    "kilowatt hours",
    "kilowatt hours per hundred kilometers",
    "watt hours per mile",
    "watt hours per kilometer",
    "degrees",
    "degrees celsius",
    "degrees fahrenheit",
)
LEADS = ("", "", "trip", "odometer", "range", "outside", "battery", "indicated", "correction", "minus")
FIXED = (
    "strike that",
    "how far",
    "say again",
    "note headwind",
    "note detour",
    "note stopped",
    "note charging",
)

DRIVE_WORDS = frozenset(
    [
        *[
            "zero",
            "oh",
            "a",
            "and",
            "point",
            "half",
            "minus",
            "hundred",
            "thousand",
            "checkpoint",
            "am",
            "pm",
            "below",
        ],
        *ONES,
        *TEENS,
        *TENS,
        *" ".join((*UNITS, *LEADS, *FIXED)).split(),
    ]
)
"""A plausible call-out vocabulary, for use until the grammar's own is passed in."""

OTHER_WORDS = (  # noqa: SIM905
    "about after again all always another anyway around because been before better bridge bring build "
    "called came can car chorus city clear coffee cold color come country could daughter door dream early "
    "easy evening ever every family farm father favorite feel field find first flower follow food friend "
    "garden give going golden good government green happy have hear here hello home house however idea "
    "just keep kitchen know lake later laugh learn let letter light listen little live long look lovely "
    "make many market matter maybe meeting money more morning mother mountain music my never new next "
    "night nothing now number ocean often old only open orange other over paper party people perhaps "
    "place play please pretty problem question quick radio rain read really red river road sandwich "
    "school sea see she should show sister small some song soon sound speak spring station still story "
    "street summer sunday sure table talk tell thank their there they thing think this time today "
    "together tomorrow tonight town travel tree turn under understand until very wait walk want water we "
    "weather week welcome were what when where which while white who why will window winter with woman "
    "wonder word work world would yellow yes yesterday you young your"
).split()
"""Everyday words, for talk that is no call."""


def _number(rng: random.Random) -> list[str]:
    def below_hundred() -> list[str]:
        return rng.choice(
            [
                [rng.choice(ONES)],
                [rng.choice(TEENS)],
                [rng.choice(TENS)],
                [rng.choice(TENS), rng.choice(ONES)],
            ]
        )

    shape = rng.random()
    if shape < 0.45:
        words = below_hundred()
    elif shape < 0.6:
        words = [rng.choice([*ONES, "a"]), "hundred", *rng.choice([[], ["and"]]), *below_hundred()]
    elif shape < 0.7:
        words = [*below_hundred(), "thousand", rng.choice(ONES), "hundred", *below_hundred()]
    elif shape < 0.85:
        words = [rng.choice(["zero", "oh", *ONES]) for _ in range(rng.randint(2, 4))]
    else:
        words = [rng.choice(ONES), *rng.choice([below_hundred(), ["oh", rng.choice(ONES)]])]
    if rng.random() < 0.45:
        words += ["point", rng.choice(["zero", "oh", *ONES])]
    return words


def _call(rng: random.Random) -> list[str]:
    if rng.random() < 0.1:
        return rng.choice(FIXED).split()
    words = ["checkpoint"] if rng.random() < 0.5 else []
    for _ in range(rng.choice([1, 1, 2])):
        words += [*rng.choice(LEADS).split(), *_number(rng), *rng.choice(UNITS).split()]
    return words


def sentences(count: int, seed: int, vocabulary: Collection[str] = DRIVE_WORDS) -> list[str]:
    """Return `count` calls shaped like real ones, using only words of `vocabulary`.

    Calls that need a word outside the vocabulary lose that word, so any vocabulary works.
    """
    rng = random.Random(seed)
    made: list[str] = []
    while len(made) < count:
        if words := [word for word in _call(rng) if word in vocabulary]:
            made.append(" ".join(words))
    return made


def other_talk(count: int, seed: int, vocabulary: Collection[str] = DRIVE_WORDS) -> list[str]:
    """Return `count` stretches of seven everyday words, none of them in `vocabulary`."""
    return word_lists(count, 7, seed, [word for word in OTHER_WORDS if word not in vocabulary])


def word_lists(count: int, length: int, seed: int, vocabulary: Collection[str]) -> list[str]:
    """Return `count` strings of `length` words in no order, so that every word is covered evenly."""
    rng = random.Random(seed)
    words: list[str] = []
    while len(words) < count * length:
        words += rng.sample(sorted(vocabulary), len(vocabulary))
    return [" ".join(words[n * length : (n + 1) * length]) for n in range(count)]


def word_pairs(calls: Sequence[str]) -> tuple[str, ...]:
    """Return the distinct neighbouring word pairs of `calls`, and calls of one word: a Vosk phrase list."""
    pairs: set[str] = set()
    for call in calls:
        words = call.split()
        pairs.update(" ".join(pair) for pair in pairwise(words))
        if len(words) == 1:
            pairs.add(call)
    return tuple(sorted(pairs))
