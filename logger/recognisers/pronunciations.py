"""How words are said, as CMU phones: the dictionary in the pocketsphinx wheel, and what it lacks."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

Pronunciations = dict[str, tuple[tuple[str, ...], ...]]
"""Word -> its pronunciations, each a tuple of phones."""

PHONES = (  # noqa: SIM905 one line reads better than forty strings
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH"
).split()
"""The 39 phones of CMUdict, in its alphabet's order."""

EXTRA_PRONUNCIATIONS: dict[str, tuple[str, ...]] = {
    "crosswind": ("K R AO S W IH N D",),
    "tailwind": ("T EY L W IH N D",),
}
"""Words of the language that the dictionary of the wheel lacks."""


def dictionary_path() -> Path:
    """Return where the wheel of pocketsphinx keeps its English dictionary."""
    from importlib.util import find_spec

    found = find_spec("pocketsphinx")
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).parent / "model" / "en-us" / "cmudict-en-us.dict"


def pronunciations(words: Iterable[str]) -> Pronunciations:
    """Return how each of `words` may be said; words that no dictionary has are left out.

    Raises:
        OSError: the dictionary cannot be read.
    """
    wanted = set(words)
    found: dict[str, list[tuple[str, ...]]] = {
        word: [tuple(way.split()) for way in ways]
        for word, ways in EXTRA_PRONUNCIATIONS.items()
        if word in wanted
    }
    with dictionary_path().open(encoding="utf-8") as lines:
        for line in lines:
            head, _, way = line.partition(" ")
            word = head.partition("(")[0]  # further ways to say a word are numbered: "a(2)"
            if word in wanted and word not in EXTRA_PRONUNCIATIONS:
                found.setdefault(word, []).append(tuple(way.split()))
    return {word: tuple(ways) for word, ways in found.items()}
