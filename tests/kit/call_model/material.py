"""Batches of what was spoken: utterances of nearly one length, each at one of a few speeds."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import torch
from torch import Tensor

from call_model.bands import RATE_HZ
from call_model.corpus import Utterance, read
from call_model.objective import Spelling, spell
from logger.recognisers.call_phones import numbered
from logger.recognisers.pronunciations import pronunciations

SPEEDS = (0.84, 0.88, 0.92, 0.96, 1.0, 1.04, 1.08, 1.13, 1.18)
AROUND_S = 0.9
"""How much longer than the longest of a batch its sound is; each utterance lies anywhere in that."""
LENGTHS_S = (2.4, 3.0, 3.6, 4.2, 4.8, 5.4, 6.0, 6.6, 7.2, 7.8, 8.4, 9.0, 9.6, 10.2, 10.8, 11.4, 12.0)
"""Lengths of a batch's sound after the change of speed: few, since each has a compiled objective of its own."""
POSITIONS_A_SECOND, FEWEST_POSITIONS = 17, 40
"""Room for phones in a batch's graphs; an utterance that needs more is left out."""
MOST_BEFORE = 6
"""Ways into a phone; a spelling with more is left out."""


class Material:
    """Batches without end; what is spoken meanwhile joins when all there was has been used.

    What the voices in `without` say is left out.
    """

    def __init__(
        self,
        folder: Path,
        seconds_a_batch: float,
        device: torch.device,
        seed: int,
        without: frozenset[str] = frozenset(),
    ) -> None:
        self._folder, self._seconds, self._device = folder, seconds_a_batch, device
        self._without = without
        self._rng = random.Random(seed)
        self._known: frozenset[str] = frozenset()
        self._sounds = torch.zeros(0, dtype=torch.int16, device=device)
        self.utterances: list[Utterance] = []
        self.spellings: list[Spelling] = []
        self._batches: list[tuple[float, float, list[int]]] = []
        self._waiting: dict[tuple[float, float], list[int]] = {}
        self._refresh()

    def next(self) -> tuple[Tensor, float, list[Spelling]]:
        """Return sound, shape (batch, samples), its length in seconds once played at its speed, and spellings."""
        while not self._batches:
            self._refresh()
            self._batches = self._shuffled()
        length_s, speed, chosen = self._batches.pop()
        total = round(length_s * speed * RATE_HZ)
        sound = torch.zeros(len(chosen), total, device=self._device)
        for row, index in enumerate(chosen):
            each = self.utterances[index]
            at = self._rng.randrange(round(0.05 * RATE_HZ), total - each.samples)
            sound[row, at : at + each.samples] = self._sounds[each.begin : each.begin + each.samples]
        return sound, length_s, [self.spellings[index] for index in chosen]

    @property
    def voices(self) -> list[str]:
        """Who has been learned from, sorted; a voice between two speakers is both."""
        return sorted({name for each in self.utterances for name in each.voice.split("+")})

    def batch_size(self, length_s: float) -> int:
        """Return how many utterances a batch of this length has."""
        return int(self._seconds / length_s)

    def positions(self, length_s: float) -> int:
        """Return for how many phones the graphs of a batch of this length have room."""
        return FEWEST_POSITIONS + round(POSITIONS_A_SECOND * length_s)

    def _refresh(self) -> None:
        sound, found, self._known = read(self._folder, self._known, self._without)
        if not found:
            return
        ways = numbered(pronunciations({word for each in found for word in each.words}))
        before = len(self._sounds)
        self._sounds = torch.cat([self._sounds, torch.tensor(sound, device=self._device)])
        for each in found:
            if all(word in ways for word in each.words):
                spelling = spell(each.words, ways)
                if spelling.before.shape[1] <= MOST_BEFORE:
                    self.utterances.append(replace(each, begin=each.begin + before))
                    self.spellings.append(spelling)

    def _shuffled(self) -> list[tuple[float, float, list[int]]]:
        """Return batches over all utterances: length in seconds, speed, and which utterances.

        Those that fill no batch wait for the next time.
        """
        order = list(range(len(self.utterances)))
        self._rng.shuffle(order)
        batches: list[tuple[float, float, list[int]]] = []
        for index in order:
            speed = self._rng.choice(SPEEDS)
            needed_s = self.utterances[index].samples / RATE_HZ / speed + AROUND_S
            length_s = next((each for each in LENGTHS_S if each >= needed_s), None)
            if length_s is None or len(self.spellings[index].phones) > self.positions(length_s):
                continue
            together = self._waiting.setdefault((length_s, speed), [])
            together.append(index)
            if len(together) == self.batch_size(length_s):
                batches.append((length_s, speed, together))
                del self._waiting[length_s, speed]
        self._rng.shuffle(batches)
        return batches
