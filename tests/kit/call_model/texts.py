"""What is said to train the acoustic model."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path
from typing import NamedTuple

from speechkit import calls

SEED = 7100
"""Apart from the seeds of `tests/benchmarks`: 555 and 556 for tuning, 9001 to 9003 for reports."""

_KINDS = (("miles", 0.38), ("metric", 0.24), ("words", 0.2), ("talk", 0.18))
_PAUSE = 0.12


class Text(NamedTuple):
    """What a voice reads (`script`, commas for pauses) and the words that are heard in it."""

    script: str
    words: tuple[str, ...]


def texts(count: int, seed: int, vocabulary: tuple[str, ...], dictionary: tuple[str, ...]) -> list[Text]:
    """Return `count` texts: realistic calls, words of the language in no order, and other words in no order.

    Words in no order teach every word beside every other, which a sheet's own phrases may ask for.

    Args:
        count: how many.
        seed: what they are drawn from.
        vocabulary: the words of the language.
        dictionary: words to draw other talk from.
    """
    rng = random.Random(f"call model {seed}")
    drawn = rng.choices([kind for kind, _ in _KINDS], [share for _, share in _KINDS], k=count)
    made: list[Text] = []
    for system in ("miles", "metric"):
        spoken = calls.calls(drawn.count(system), SEED + seed, system, command_share=0.15)
        made += [_call(each, rng) for each in spoken]
    made += [_in_no_order(vocabulary, rng) for _ in range(drawn.count("words"))]
    made += [_in_no_order(dictionary, rng) for _ in range(drawn.count("talk"))]
    rng.shuffle(made)
    return made


def _call(spoken: calls.SpokenCall, rng: random.Random) -> Text:
    """Return a call as it is, or without its lead word, so that no word leans on the lead."""
    script, words = spoken.script, tuple(spoken.text.split())
    if words[0] == calls.LEAD and len(words) > 1 and rng.random() < 0.25:
        script, words = script.removeprefix(calls.LEAD).strip(), words[1:]
    return Text(script, words)


def _in_no_order(words: tuple[str, ...], rng: random.Random) -> Text:
    drawn = [rng.choice(words) for _ in range(rng.randint(2, 9))]
    script = " ".join(
        (word.upper() if len(word) == 1 and word != "a" else word) + ("," if rng.random() < _PAUSE else "")
        for word in drawn
    )
    return Text(script, tuple(drawn))


@cache
def dictionary_words(path: Path) -> tuple[str, ...]:
    """Return the plain words of a CMU dictionary that synthesisers will read as written."""
    words = []
    for line in path.read_text(encoding="utf-8").splitlines():
        word = line.split(maxsplit=1)[0]
        if word.isalpha() and word.isascii() and 3 <= len(word) <= 10:
            words.append(word)
    return tuple(words)
