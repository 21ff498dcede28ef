"""The phones of the call model, as Kaldi numbers them.

A *sound* is silence (0) or a phone of CMUdict (from 1, in the order of `PHONES`): the network tells sounds apart, the
first step of each (output 2 s) and its further ones (2 s + 1). A *phone* here is a sound with its place in a word, which
is what lets Vosk tell where words begin and end; in talk, which is no word, it has none.
"""

from __future__ import annotations

from typing import NamedTuple

from logger.recognisers.pronunciations import PHONES, Pronunciations

SILENCE = 0
SOUNDS = ("SIL", *PHONES)
PLACES = ("begin", "end", "internal", "singleton")
"""As Kaldi's word_boundary.int spells them."""


class PlacedPhone(NamedTuple):
    """A phone's number (from 1), its sound, and its place in a word ("nonword" for silence)."""

    phone: int
    sound: int
    place: str


def places() -> list[PlacedPhone]:
    """Return every phone, in the order of their numbers.

    >>> len(places())
    196
    """
    sounds = range(1, len(SOUNDS))
    rows = [PlacedPhone(phone_of(SILENCE), SILENCE, "nonword")]
    rows += [PlacedPhone(phone_of(sound, place), sound, place) for sound in sounds for place in PLACES]
    rows += [PlacedPhone(talk_phone(sound), sound, "nonword") for sound in sounds]
    return rows


def phone_of(sound: int, place: str = "") -> int:
    """Return the number of a sound at a place in its word; silence has no place."""
    return 1 if sound == SILENCE else 2 + 4 * (sound - 1) + PLACES.index(place)


def talk_phone(sound: int) -> int:
    """Return the number of a sound that belongs to no word."""
    return 1 + 4 * (len(SOUNDS) - 1) + sound


def numbered(ways: Pronunciations) -> dict[str, tuple[tuple[int, ...], ...]]:
    """Return pronunciations as numbers of sounds.

    >>> numbered({"a": (("AA",), ("AE",))})
    {'a': ((1,), (2,))}
    """
    number = {name: sound for sound, name in enumerate(SOUNDS)}
    return {word: tuple(tuple(number[phone] for phone in way) for way in each) for word, each in ways.items()}


def placed(sounds: tuple[int, ...]) -> list[int]:
    """Return the phones of one pronunciation, given as sounds.

    >>> placed((1,)) == [phone_of(1, "singleton")]
    True
    """
    if len(sounds) == 1:
        return [phone_of(sounds[0], "singleton")]
    inner = [phone_of(sound, "internal") for sound in sounds[1:-1]]
    return [phone_of(sounds[0], "begin"), *inner, phone_of(sounds[-1], "end")]


def first_step(phone: int) -> int:
    """Return Kaldi's transition-id of a phone's first step."""
    return 2 * phone


def further_step(phone: int) -> int:
    """Return Kaldi's transition-id of each further step of a phone."""
    return 2 * phone - 1
