"""Music as a car's loudspeakers give it: free pieces of Debian packages, and songs of our own.

Every fourth piece is a song with words (`other_sound.singing`), since we know of no words in the packages'. A group has
its own packages:

- tuning: fretsonfire-songs-sectoid (rock and a ballad; Carlos Viola Iborra; MIT/Expat terms), hyperrogue-music (games
  music of many moods; Shawn Parrotte, Lincoln Domina, Will Savino; CC BY-SA 3.0);
- report: fretsonfire-songs-muldjord (metal; El Senator; CC BY-SA 3.0), wesnoth-1.16-music (orchestral; GPL-2+),
  lincity-ng-data (blues, electronic; GPL-2+), singularity-music (ambient electronic; Max McCracken; CC BY-SA 3.0).
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from speechkit import RATE_HZ, Samples
from speechkit.levels import Sound, to_samples

from other_sound import Group, Placed
from other_sound.packages import unpacked
from other_sound.singing import song

PACKAGES = {
    "tuning": ("fretsonfire-songs-sectoid", "hyperrogue-music"),
    "report": ("fretsonfire-songs-muldjord", "wesnoth-1.16-music", "lincity-ng-data", "singularity-music"),
}
_SHORTEST_BYTES = 500_000
"""Smaller files of these packages are jingles and sound effects."""
_LONGEST_S = 180
_GUITAR = "guitar.ogg"
"""Some songs lie in two files that belong together: this one, and the rest of the band in `song.ogg`."""


def pieces(group: Group) -> Iterator[tuple[Samples, tuple[Placed, ...]]]:
    """Yield pieces of at most three minutes without end, the packages in turn, and where words lie in each."""
    rng = random.Random(f"other sound music {group.seed}")
    waiting: list[list[Path]] = [[] for _ in PACKAGES[group.name]]
    number = 0
    while True:
        for package, left in zip(PACKAGES[group.name], waiting, strict=True):
            if number % 4 == 3:
                sound, placed = song(group.name, rng.choice(group.voices), group.seed + number)
                yield _even(sound), placed
                number += 1
            if not left:
                left.extend(rng.sample(files(package), len(files(package))))
            yield _even(played(left.pop())), ()
            number += 1


def files(package: str) -> list[Path]:
    """Return a package's pieces in the order of their names."""
    found = unpacked(package).rglob("*.ogg")
    return sorted(path for path in found if path.stat().st_size >= _SHORTEST_BYTES and path.name != _GUITAR)


def played(path: Path) -> Sound:
    """Return the first three minutes of a piece, mono at 16 kHz."""
    guitar = path.with_name(_GUITAR)
    parts = [_read(each) for each in (path, guitar) if each.exists()]
    both = np.zeros(max(map(len, parts)))
    for part in parts:
        both[: len(part)] += part
    return both


def _read(path: Path) -> Sound:
    import soundfile
    import soxr

    with soundfile.SoundFile(path) as file:
        rate_hz = file.samplerate
        sound = file.read(_LONGEST_S * rate_hz, always_2d=True).mean(axis=1)
    resampled: Sound = soxr.resample(sound, rate_hz, RATE_HZ)
    return resampled


def _even(sound: Sound) -> Samples:
    """Return a piece with a fade at both ends, its peak near full scale."""
    edge = np.minimum(1, np.minimum(np.arange(len(sound)), np.arange(len(sound))[::-1]) / RATE_HZ)
    faded = sound * edge
    return to_samples(faded * (30_000 / np.abs(faded).max()))
