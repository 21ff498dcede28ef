"""What a cabin sounds like when nobody speaks: indicator, wipers, blower, rumble strips, trucks, chimes.

As in `speechkit.noise`, every sound is an assumption, made up from how it arises and not measured. Levels are given
against a steady cabin noise of root mean square 1; road, tyres, wind, drift and bumps come from there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from speechkit import RATE_HZ
from speechkit.levels import Sound

_EVERY_S = 20.0
"""How often something begins, on average; the longer sounds overlap."""


def happenings(seed: int, length_s: float) -> Iterator[tuple[int, Sound]]:
    """Yield what is heard besides the road, in order: its first sample and its sound."""
    rng = np.random.default_rng((seed, 11))
    at_s = rng.exponential(_EVERY_S)
    while at_s < length_s:
        yield round(at_s * RATE_HZ), _KINDS[rng.integers(len(_KINDS))](rng)
        at_s += rng.exponential(_EVERY_S)


def indicator(rng: np.random.Generator) -> Sound:
    """Return ticks and tocks of a relay, some 85 a minute, for 3 to 12 s."""
    half = round(60 / rng.uniform(75, 95) / 2 * RATE_HZ)
    at_s = np.arange(half) / RATE_HZ
    strength, pitches_hz = rng.uniform(0.5, 2.5), rng.uniform(900, 2600, 2)
    clicks = [np.sin(2 * np.pi * hz * at_s) * np.exp(-at_s / 0.006) for hz in pitches_hz]
    pair = np.concatenate([click + _hiss(half, rng) * 0.5 * np.exp(-at_s / 0.003) for click in clicks])
    ticking: Sound = strength * np.tile(pair, int(rng.integers(4, 17)))
    return ticking


def wipers(rng: np.random.Generator) -> Sound:
    """Return strokes of rubber over glass for 20 to 90 s; some blades squeak or chatter on the way back."""
    stroke = round(rng.uniform(0.5, 0.9) * RATE_HZ)
    at_s = np.arange(stroke) / RATE_HZ
    swell = np.sin(np.pi * at_s / at_s[-1]) ** 2
    squeaks, motor_hz = rng.random() < 0.5, rng.uniform(90, 160)
    rest = np.zeros(round(rng.choice((0.05, 0.05, 1.5, 3.5)) * RATE_HZ))
    parts: list[Sound] = []
    for _ in range(int(rng.uniform(20, 90) * RATE_HZ / (2 * stroke + len(rest)))):
        for back in (False, True):
            rub = 0.25 * _hiss(stroke, rng) * swell + 0.2 * np.sin(2 * np.pi * motor_hz * at_s) * swell
            if back and squeaks and rng.random() < 0.7:
                hz = rng.uniform(450, 1100) * (1 + 0.3 * at_s * rng.choice((-1, 1)))
                rub = rub + rng.uniform(0.1, 0.5) * _harmonics(hz, 6) * swell**4
            thud = 0.8 * np.sin(2 * np.pi * 70 * at_s) * np.exp(-at_s / 0.03)
            parts.append(rub + thud)
        parts.append(rest)
    return np.concatenate(parts)


def blower(rng: np.random.Generator) -> Sound:
    """Return a fan in two to five stages, 10 to 40 s each, with the hum of its blades."""
    parts = []
    for _ in range(int(rng.integers(2, 6))):
        count = round(rng.uniform(10, 40) * RATE_HZ)
        stage = rng.uniform(0.2, 1.0)
        hum = _harmonics(np.full(count, 90 + 260 * stage), 4)
        parts.append(stage * (0.5 * _soft(_hiss(count, rng)) + 0.08 * hum) * _edges(count, 1.0))
    return np.concatenate(parts)


def rumble_strip(rng: np.random.Generator) -> Sound:
    """Return the buzz of milled grooves under two tyres for 0.4 to 2 s."""
    count = round(rng.uniform(0.4, 2) * RATE_HZ)
    buzz: Sound = (
        rng.uniform(0.5, 2) * _harmonics(np.full(count, rng.uniform(75, 115)), 14) * _edges(count, 0.05)
    )
    return buzz


def truck(rng: np.random.Generator) -> Sound:
    """Return a truck that is passed: wind and tyres that swell and go, with the drone of an engine."""
    count = round(rng.uniform(3, 8) * RATE_HZ)
    swell = np.sin(np.pi * np.arange(count) / count) ** 2
    drone = _harmonics(np.linspace(1.06, 0.95, count) * rng.uniform(70, 130), 10)
    passing: Sound = rng.uniform(0.5, 1.5) * (_soft(_hiss(count, rng)) + 0.3 * drone) * swell
    return passing


def chime(rng: np.random.Generator) -> Sound:
    """Return a car's own sign: one to four soft tones."""
    at_s = np.arange(round(rng.uniform(0.15, 0.6) * RATE_HZ)) / RATE_HZ
    tones = rng.choice((523.0, 659.0, 784.0, 988.0, 1319.0), int(rng.integers(1, 5)))
    rung = [np.sin(2 * np.pi * hz * at_s) + 0.3 * np.sin(4 * np.pi * hz * at_s) for hz in tones]
    signed: Sound = rng.uniform(0.3, 1) * np.concatenate([tone * np.exp(-at_s / 0.15) for tone in rung])
    return signed


_KINDS: tuple[Callable[[np.random.Generator], Sound], ...] = (
    indicator,
    indicator,
    wipers,
    blower,
    rumble_strip,
    truck,
    chime,
)


def _hiss(count: int, rng: np.random.Generator) -> Sound:
    return rng.standard_normal(count)


def _soft(hiss: Sound) -> Sound:
    """Return white noise falling above some 800 Hz, its power about 1."""
    soft: Sound = np.convolve(hiss, np.hanning(22)[1:-1] / 2.7, mode="same")
    return soft


def _harmonics(pitch_hz: Sound, count: int) -> Sound:
    phase = 2 * np.pi * np.cumsum(pitch_hz) / RATE_HZ
    summed: Sound = np.sum([np.sin(n * phase) / n for n in range(1, count + 1)], axis=0)
    return summed


def _edges(count: int, fade_s: float) -> Sound:
    index = np.arange(count)
    edges: Sound = np.minimum(1, np.minimum(index, index[::-1]) / (fade_s * RATE_HZ))
    return edges
