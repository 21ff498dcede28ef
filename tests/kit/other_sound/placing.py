"""When each sentence is said: one after another, with the pauses that readers and newscasters make."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import cycle

from speechkit import RATE_HZ
from speechkit.drive import DriveItem
from speechkit.speaking import say
from speechkit.voices import Voice

from other_sound import Group
from other_sound.books import passages
from other_sound.number_talk import sentences

_SENTENCES_EACH = (3, 8)
"""How many sentences about numbers one voice says before the next takes over."""


@dataclass(frozen=True, slots=True)
class _Said:
    """A sentence, who says it and how fast, and the pause after it."""

    text: str
    voice: Voice
    rate: float
    pause_s: float


def books(group: Group) -> list[DriveItem]:
    """Return passages of novels read by the group's voices in turn, until the time is over."""
    rng = random.Random(f"other sound reading {group.seed}")
    return _until(group.length_s, _read(group, rng))


def numbers(group: Group) -> list[DriveItem]:
    """Return sentences full of numbers said by the group's voices in turn, until the time is over."""
    rng = random.Random(f"other sound telling {group.seed}")
    return _until(group.length_s, _told(group, rng))


def _read(group: Group, rng: random.Random) -> Iterator[_Said]:
    for voice, passage in zip(cycle(group.voices), passages(group.name, group.seed), strict=False):
        rate = rng.uniform(0.9, 1.12)
        for paragraph in passage.paragraphs:
            for sentence in paragraph:
                yield _Said(sentence, voice, rate, rng.uniform(0.3, 0.9))
            yield _Said("", voice, rate, rng.uniform(0.4, 1.2))
        yield _Said("", voice, rate, rng.uniform(1, 6))


def _told(group: Group, rng: random.Random) -> Iterator[_Said]:
    lines = sentences(group.name, group.seed)
    for voice in cycle(group.voices):
        rate = rng.uniform(0.92, 1.15)
        for _ in range(rng.randint(*_SENTENCES_EACH)):
            yield _Said(
                next(lines), voice, rate, rng.choice((0.3, 0.5, 0.8, 1.5, 3.0)) * rng.uniform(0.7, 1.3)
            )
        yield _Said("", voice, rate, rng.uniform(0.5, 4))


def _until(length_s: float, said: Iterable[_Said]) -> list[DriveItem]:
    items: list[DriveItem] = []
    at_s = 2.0
    for each in said:
        if each.text:
            # The same rounding as in `speechkit.speaking`'s cache: a rate is kept to three places.
            rate = round(each.rate, 3)
            lasts_s = len(say(each.voice, each.text, rate)) / RATE_HZ
            if at_s + lasts_s > length_s - 1:
                break
            items.append(DriveItem(at_s, each.text, each.voice, rate))
            at_s += lasts_s
        at_s += each.pause_s
    return items
