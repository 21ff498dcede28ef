"""Typed text -> the words of the language: spellings folded, never numbers guessed."""

from __future__ import annotations

_SPELLINGS = {
    "kilometre": "kilometer",
    "kilometres": "kilometers",
    "o": "oh",
    "per-cent": "percent",
    "%": "percent",
    "a.m.": "a m",
    "am": "a m",
    "p.m.": "p m",
    "pm": "p m",
    "metre": "meter",
    "around": "round",
}
_DROPPED = str.maketrans({",": " ", ";": " ", ":": " ", "!": " ", "?": " ", "-": " ", "\u2019": "'"})


def spoken_words(text: str) -> tuple[str, ...]:
    """Return the words of a typed text, in lower case, punctuation dropped and British spellings folded.

    >>> spoken_words("Checkpoint: sixty-three per cent, 7 kilometres.")
    ('checkpoint', 'sixty', 'three', 'percent', '7', 'kilometers')
    """
    folded = text.lower().replace("per-cent", "percent").replace("per cent", "percent").translate(_DROPPED)
    words: list[str] = []
    for word in folded.split():
        kept = _SPELLINGS.get(word) or _SPELLINGS.get(word.rstrip("."), word.rstrip("."))
        words.extend(kept.split())
    return tuple(words)
