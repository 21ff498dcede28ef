"""Each kind of sound as one file, and where words lie in it."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from speechkit import RATE_HZ
from speechkit.drive import at_level, render
from speechkit.levels import Measure, Sound, to_samples
from speechkit.noise import NoiseSource

from other_sound import KINDS, MUSIC_DB, SPEECH_DB, SPEECH_LEVEL, Group, Placed, placing
from other_sound.cabin import happenings
from other_sound.music import pieces

_NOISE_RMS = SPEECH_LEVEL / 10 ** (SPEECH_DB / 20)
_BLOCK = RATE_HZ


def rendered(kind: str, group: Group, path: Path) -> tuple[Placed, ...]:
    """Write one kind of sound to `path` (.flac, mono, 16 kHz) and return where words lie in it."""
    seed = group.seed + KINDS.index(kind)
    if kind in ("books", "numbers"):
        items = placing.books(group) if kind == "books" else placing.numbers(group)
        truths = render(path, items, group.length_s, SPEECH_DB, seed=seed, measure=Measure.BROADBAND)
        return tuple(Placed(truth.first_sample, truth.end_sample, truth.text) for truth in truths)
    if kind == "noise":
        _write(
            path, group, seed, ((at, _NOISE_RMS * sound) for at, sound in happenings(seed, group.length_s))
        )
        return ()
    placed: list[Placed] = []
    _write(path, group, seed, _music(group, placed))
    return tuple(placed)


def _music(group: Group, placed: list[Placed]) -> Iterator[tuple[int, Sound]]:
    """Yield pieces one after another with pauses, each at a ratio of its own; add their words to `placed`."""
    rng = random.Random(f"other sound levels {group.seed}")
    at, total = 2 * RATE_HZ, round(group.length_s * RATE_HZ)
    for piece, words in pieces(group):
        if at >= total:
            return
        ratio_db = rng.uniform(*MUSIC_DB)
        shifted = (Placed(at + each.first_sample, at + each.end_sample, each.text) for each in words)
        placed += [each for each in shifted if each.end_sample < total]
        yield at, at_level(piece, _NOISE_RMS * 10 ** (ratio_db / 20), Measure.BROADBAND)
        at += len(piece) + round(rng.uniform(1, 5) * RATE_HZ)


def _write(path: Path, group: Group, seed: int, sounds: Iterator[tuple[int, Sound]]) -> None:
    """Write cabin noise with sounds in it, given in the order in which they begin, a second at a time."""
    import soundfile

    source, total = NoiseSource(seed), round(group.length_s * RATE_HZ)
    sounding: list[tuple[int, Sound]] = []
    waiting = next(sounds, None)
    with soundfile.SoundFile(path, "w", samplerate=RATE_HZ, channels=1, subtype="PCM_16") as file:
        for first in range(0, total, _BLOCK):
            end = min(first + _BLOCK, total)
            while waiting is not None and waiting[0] < end:
                sounding.append(waiting)
                waiting = next(sounds, None)
            block = source.take(end - first) * _NOISE_RMS
            for start, sound in sounding:
                begin, stop = max(start, first), min(start + len(sound), end)
                block[begin - first : stop - first] += sound[begin - start : stop - start]
            sounding = [(start, sound) for start, sound in sounding if start + len(sound) > end]
            file.write(to_samples(np.asarray(block)))
