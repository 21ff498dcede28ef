"""Kinds of noise in a car, one by one, for figures that are reported.

Each is made otherwise than the training's (`call_model.cabin`), which draws smooth curves over white noise, notes and
clicks: here tyres have the peak near 900 Hz that coarse asphalt gives and the joints of slabs, wind comes in gusts and throbs, the
hum is a motor's and a gearwheel's harmonics as speed wavers, rain is single drops on glass, music is played by people, and who
talks is a REPORT voice. As in `speechkit.noise`, levels and shapes are assumptions from how the sounds arise, not measurements.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from functools import cache

import numpy as np
from other_sound import cabin
from other_sound.music import PACKAGES, files, played
from speechkit import RATE_HZ, Samples, talk
from speechkit.levels import Sound, to_samples
from speechkit.speaking import say
from speechkit.voices import REPORT, TUNING

KINDS = ("tyres", "wind", "hum", "blower", "rain", "indicator", "music", "second talker")
_FLOOR = 0.02
"""A faint hiss under what comes and goes, beside a root mean square of 1, so that it is never digitally silent."""
_PIECES = 2
"""How many pieces of music are taken of each package."""


def noise_of(kind: str, count: int, seed: int, speaker: str = "", *, tune: bool = False) -> Sound:
    """Return `count` samples of a kind of noise at any level; a second talker is never `speaker`.

    Raises:
        KeyError: there is no such kind.
    """
    rng = np.random.default_rng((seed, zlib.crc32(kind.encode())))
    if kind == "second talker":
        return _talker(count, rng, speaker, tune=tune)
    if kind == "music":
        return _music(count, rng, "tuning" if tune else "report")
    return _MAKERS[kind](count, rng)


def _tyres(count: int, rng: np.random.Generator) -> Sound:
    """Coarse asphalt: most of it between 500 and 1200 Hz, with joints of slabs two to four times a second."""
    hertz = np.fft.rfftfreq(count, 1 / RATE_HZ)
    middle = rng.uniform(750, 1050)
    shape = np.exp(-0.5 * (np.log2(np.maximum(hertz, 1) / middle) / 0.55) ** 2) + 0.12 * (hertz < 250)
    road = np.fft.irfft(np.fft.rfft(rng.standard_normal(count)) * shape, count)
    road /= road.std()
    every = round(RATE_HZ / rng.uniform(2, 4))
    for first in range(int(rng.integers(every)), count, every):
        # Front and rear wheels, 2.8 m apart.
        for at in (first, first + round(0.09 * RATE_HZ)):
            size = max(0, min(RATE_HZ // 8, count - at))
            at_s = np.arange(size) / RATE_HZ
            road[at : at + size] += 4 * np.exp(-at_s / 0.02) * np.sin(2 * np.pi * 130 * at_s)
    return road


def _wind(count: int, rng: np.random.Generator) -> Sound:
    """Gusts through a window that is a little open: hiss that swells, and the throb of the cabin's air at 12 to 20 Hz."""
    hertz = np.fft.rfftfreq(count, 1 / RATE_HZ)
    hiss = np.fft.irfft(
        np.fft.rfft(rng.standard_normal(count)) / (1 + (hertz / rng.uniform(300, 700)) ** 1.2), count
    )
    knots = np.exp(rng.normal(0, 0.6, count // (RATE_HZ // 2) + 2))
    gusts = np.interp(np.arange(count) * 2 / RATE_HZ, np.arange(len(knots)), knots)
    throb = 1 + 0.6 * np.sin(2 * np.pi * rng.uniform(12, 20) * np.arange(count) / RATE_HZ + rng.uniform(0, 6))
    wind: Sound = hiss / hiss.std() * gusts * throb
    return wind


def _hum(count: int, rng: np.random.Generator) -> Sound:
    """Harmonics of the motor, of its gear and of its inverter, as the speed wavers by a few per cent."""
    wavering = np.cumsum(rng.standard_normal(count // RATE_HZ + 2)) * 0.01
    speed = 1 + np.interp(np.arange(count) / RATE_HZ, np.arange(len(wavering)), wavering)
    sound = 0.1 * rng.standard_normal(count)
    for low_hz, high_hz, harmonics, strength in (
        (90, 160, 8, 1.0),
        (600, 1100, 3, 0.4),
        (3000, 5500, 2, 0.12),
    ):
        phase = 2 * np.pi * np.cumsum(speed * rng.uniform(low_hz, high_hz)) / RATE_HZ
        sound += sum(strength / order * np.sin(order * phase + order) for order in range(1, harmonics + 1))
    return sound


def _blower(count: int, rng: np.random.Generator) -> Sound:
    return _filled(count, rng, cabin.blower)


def _rain(count: int, rng: np.random.Generator) -> Sound:
    """Drops on glass and metal, some 150 a second, each with a ring of its own, and the wipers."""
    drops = np.zeros(count)
    for at in rng.integers(0, count, round(150 * count / RATE_HZ)):
        size = min(320, count - int(at))
        at_s = np.arange(size) / RATE_HZ
        ring = np.sin(2 * np.pi * rng.uniform(900, 5200) * at_s) * np.exp(-at_s / rng.uniform(0.001, 0.004))
        drops[at : at + size] += rng.exponential() * ring
    return drops / drops.std() + 0.7 * _filled(count, rng, cabin.wipers)


def _indicator(count: int, rng: np.random.Generator) -> Sound:
    return _filled(count, rng, cabin.indicator)


def _filled(count: int, rng: np.random.Generator, make: Callable[[np.random.Generator], Sound]) -> Sound:
    """Return what a sound that begins and ends gives when it comes again and again, from within it on."""
    parts: list[Sound] = [make(rng)]
    first = int(rng.integers(len(parts[0]) // 2 + 1))
    while sum(map(len, parts)) < first + count:
        parts.append(make(rng))
    return np.concatenate(parts)[first : first + count] + _FLOOR * rng.standard_normal(count)


_MAKERS: dict[str, Callable[[int, np.random.Generator], Sound]] = {
    "tyres": _tyres,
    "wind": _wind,
    "hum": _hum,
    "blower": _blower,
    "rain": _rain,
    "indicator": _indicator,
}


def _music(count: int, rng: np.random.Generator, group: str) -> Sound:
    piece = _pieces(group)[int(rng.integers(len(_pieces(group))))]
    first = int(rng.integers(max(1, len(piece) - count)))
    cut = piece[first : first + count].astype(np.float64)
    return np.pad(cut, (0, count - len(cut))) + 30 * rng.standard_normal(count)


@cache
def _pieces(group: str) -> tuple[Samples, ...]:
    """Return a few pieces of each of a group's packages, from a quarter of a minute on: music begins softly."""
    chosen = [
        path
        for package in PACKAGES[group]
        for path in files(package)[:: max(1, len(files(package)) // _PIECES)][:_PIECES]
    ]
    sounds = [played(path) for path in chosen]
    return tuple(to_samples(sound[15 * RATE_HZ :] * (8000 / np.abs(sound).max())) for sound in sounds)


def _talker(count: int, rng: np.random.Generator, speaker: str, *, tune: bool) -> Sound:
    """Somebody else who goes on talking, from the middle of a sentence on."""
    voices = [each for each in (TUNING if tune else REPORT) if each.speaker != speaker]
    voice = voices[int(rng.integers(len(voices)))]
    said: list[Samples] = []
    sentences = iter(talk.sentences(60, int(rng.integers(1 << 30))))
    while sum(map(len, said)) < count + 2 * RATE_HZ:
        said += [say(voice, next(sentences)), np.zeros(RATE_HZ // 4, np.int16)]
    first = int(rng.integers(RATE_HZ))
    return np.concatenate(said)[first : first + count] + 16 * rng.standard_normal(count)
