"""The phones, their numbers in a Kaldi model, and the pronunciations of words.

A *sound* is silence, one of the 39 CMU phones, or `SPN` for talk about other things; the network tells sounds apart. A Kaldi *phone* is a sound
with its place in the word (begin, end, inside, or alone), which is what lets Vosk find word boundaries.
"""

from __future__ import annotations

from collections.abc import Iterable

from logger.recognisers.pronunciations import pronunciations

SOUNDS = [
    "SIL",
    "AA",
    "AE",
    "AH",
    "AO",
    "AW",
    "AY",
    "B",
    "CH",
    "D",
    "DH",
    "EH",
    "ER",
    "EY",
    "F",
    "G",
    "HH",
    "IH",
    "IY",
    "JH",
    "K",
    "L",
    "M",
    "N",
    "NG",
    "OW",
    "OY",
    "P",
    "R",
    "S",
    "SH",
    "T",
    "TH",
    "UH",
    "UW",
    "V",
    "W",
    "Y",
    "Z",
    "ZH",
    "SPN",
]
"""Sound number = position here = pdf number in the model; silence is 0."""

SILENCE = 0
OTHER_TALK = len(SOUNDS) - 1
UNKNOWN_WORD = "[unk]"
PLACES = ("begin", "end", "internal", "singleton")
"""As Kaldi's word_boundary.int spells them."""

Lexicon = dict[str, tuple[tuple[int, ...], ...]]
"""Word -> its pronunciations, each a tuple of sound numbers."""


def phone_of(sound: int, place: str = "") -> int:
    """Return the Kaldi phone number (from 1) of a sound at a place in its word; silence has no place."""
    return 1 if sound == SILENCE else 2 + 4 * (sound - 1) + PLACES.index(place)


def placed(sounds: tuple[int, ...]) -> list[int]:
    """Return the phones of one pronunciation.

    >>> placed((7,)) == [phone_of(7, "singleton")]
    True
    """
    if len(sounds) == 1:
        return [phone_of(sounds[0], "singleton")]
    inner = [phone_of(sound, "internal") for sound in sounds[1:-1]]
    return [phone_of(sounds[0], "begin"), *inner, phone_of(sounds[-1], "end")]


def all_phones() -> list[tuple[int, int, str]]:
    """Return (phone, sound, place or "nonword") for every phone, in phone order."""
    rows = [(1, SILENCE, "nonword")]
    rows += [(phone_of(sound, place), sound, place) for sound in range(1, len(SOUNDS)) for place in PLACES]
    return rows


def exit_id(phone: int) -> int:
    """Return the transition-id that leaves a phone's one state (Kaldi puts it first: its graphs reorder)."""
    return 2 * phone


def loop_id(phone: int) -> int:
    """Return the transition-id of a phone's self-loop."""
    return 2 * phone - 1


def lexicon(words: Iterable[str]) -> Lexicon:
    """Return the pronunciations of `words`, as odovox knows them.

    `[unk]` is other talk that lasts three frames or more.

    Raises:
        ValueError: a word is not in it; the message lists all of those.
    """
    wanted = sorted(set(words))
    number = {name: index for index, name in enumerate(SOUNDS)}
    known: Lexicon = {
        word: tuple(tuple(number[name] for name in way) for way in ways)
        for word, ways in pronunciations(wanted).items()
    }
    known[UNKNOWN_WORD] = ((OTHER_TALK,) * 3,)
    if missing := [word for word in wanted if word not in known]:
        raise ValueError(f"no pronunciation for: {' '.join(missing)}")
    return {word: known[word] for word in wanted}
