"""The phones, their numbers in a Kaldi model, and the pronunciations of words.

A *sound* is silence, one of the 39 CMU phones, or `SPN` for talk about other things; the network tells sounds apart. A Kaldi *phone* is a sound
with its place in the word (begin, end, inside, or alone), which is what lets Vosk find word boundaries. Both are numbered as in `logger.recognisers.call_phones`.
"""

from __future__ import annotations

from collections.abc import Iterable

from logger.recognisers import call_phones
from logger.recognisers.call_phones import PLACES, SILENCE, numbered, phone_of
from logger.recognisers.pronunciations import pronunciations
from logger.recognisers.vosk_engine import UNKNOWN_WORD

SOUNDS = [*call_phones.SOUNDS, "SPN"]
"""Sound number = position here = pdf number in the model; silence is 0."""

OTHER_TALK = len(SOUNDS) - 1

Lexicon = dict[str, tuple[tuple[int, ...], ...]]
"""Word -> its pronunciations, each a tuple of sound numbers."""


def all_phones() -> list[tuple[int, int, str]]:
    """Return (phone, sound, place or "nonword") for every phone, in phone order."""
    rows = [(1, SILENCE, "nonword")]
    rows += [(phone_of(sound, place), sound, place) for sound in range(1, len(SOUNDS)) for place in PLACES]
    return rows


def lexicon(words: Iterable[str]) -> Lexicon:
    """Return the pronunciations of `words`, as odovox knows them.

    `[unk]` is other talk that lasts three frames or more.

    Raises:
        ValueError: a word is not in it; the message lists all of those.
    """
    wanted = sorted(set(words))
    known: Lexicon = numbered(pronunciations(wanted))
    known[UNKNOWN_WORD] = ((OTHER_TALK,) * 3,)
    if missing := [word for word in wanted if word not in known]:
        raise ValueError(f"no pronunciation for: {' '.join(missing)}")
    return {word: known[word] for word in wanted}
