"""Cabin noise, and mixing speech into it at a stated ratio.

**The noise is an assumption, not a measurement.** What was found in print is that most energy of cars at highway
speed lies at 0-500 Hz and that speech stays audible below 0 dB of overall ratio (Schuller, Intelligent Audio
Analysis, section 10); no table of levels or slopes was found. So the spectrum here is chosen, in three parts that
the trade names: road rumble falling 9 dB an octave above 60 Hz, the hum of air in the tyres near 220 Hz, and wind
falling 6 dB an octave above 400 Hz. On that lie a slow drift of level and bumps.

**The ratio** that `mix` sets is speech power over noise power, of what counts in a `levels.Measure`, both over the
20 ms frames in which somebody speaks (`levels.active_frames`, on the clean speech between 300 and 3400 Hz). The
measure makes the figure: one mixture of cabin noise that is 10 dB in 300-3400 Hz is about 0 to 5 dB broadband and 9 dB
A-weighted. So a table must say which one it means, and `Mixed` tells all three.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from speechkit import RATE_HZ, Samples
from speechkit.levels import Measure, Sound, active_frames, counted, frame_powers, measured, to_samples

_TAPS = 8191
_BLOCK = 32_768
_KNOT_S = 4.0
_DRIFT_DB = 1.5
_BUMP_EVERY_S = 7.0
_BUMP_LASTS_S = 0.35


class NoiseKind(StrEnum):
    """A shape of noise."""

    CABIN = "cabin"
    """Road, tyres and wind, with drift and bumps."""
    BROWN = "brown"
    """Falling 6 dB an octave from 20 Hz, steady: what earlier trials used."""
    WHITE = "white"
    """The same power at all frequencies, steady: the hardest for consonants."""


def shape(kind: NoiseKind, freq_hz: NDArray[np.floating]) -> Sound:
    """Return the relative amplitude of the noise at each frequency."""
    floor = np.maximum(freq_hz, 1.0)
    rolled: Sound = np.where(freq_hz < 20, freq_hz / 20, 1.0)
    match kind:
        case NoiseKind.WHITE:
            return rolled
        case NoiseKind.BROWN:
            brown: Sound = rolled * 20 / np.maximum(floor, 20)
            return brown
        case NoiseKind.CABIN:
            road = (60 / np.maximum(floor, 60)) ** 1.5
            tyres = 0.15 * np.exp(-0.5 * ((freq_hz - 220) / 20) ** 2)
            wind = 0.12 * 400 / np.maximum(floor, 400)
            amplitude: Sound = rolled * np.sqrt(road**2 + tyres**2 + wind**2)
            return amplitude


@functools.cache
def _filter(kind: NoiseKind) -> Sound:
    """Return the filter (`_TAPS` long) that gives white noise of power 1 the shape, at power 1."""
    size = 16_384
    response = np.fft.irfft(shape(kind, np.fft.rfftfreq(size, 1 / RATE_HZ)), size)
    taps = np.roll(response, _TAPS // 2)[:_TAPS] * np.hanning(_TAPS)
    normed: Sound = taps / np.sqrt(np.sum(taps**2))
    return normed


@functools.cache
def steady_power(kind: NoiseKind, measure: Measure) -> float:
    """Return what counts in a measure of the steady noise's power, which is 1 in all."""
    size = 1 << 17
    spectrum = np.abs(np.fft.rfft(_filter(kind), size)) ** 2
    weights = counted(measure, np.fft.rfftfreq(size, 1 / RATE_HZ)) ** 2
    return float((spectrum * weights).sum() / spectrum.sum())


class NoiseSource:
    """Endless noise from a seed, taken piece by piece: the pieces' sizes do not change the sound.

    The steady part has a root mean square of 1; cabin noise drifts about that by some 1.5 dB, and its bumps come
    on top. Memory does not grow with what was taken.
    """

    def __init__(self, seed: int, kind: NoiseKind = NoiseKind.CABIN) -> None:
        self._seed = seed
        self._kind = kind
        self._block = 0
        self._tail: Sound = np.zeros(_TAPS - 1)
        self._ready: Sound = np.zeros(0)
        self._bumps = _Bumps(seed)

    def take(self, count: int) -> Sound:
        """Return the next `count` samples."""
        while len(self._ready) < count:
            self._ready = np.concatenate((self._ready, self._next_block()))
        taken, self._ready = self._ready[:count], self._ready[count:]
        return taken

    def _next_block(self) -> Sound:
        first = self._block * _BLOCK
        white = np.random.default_rng((self._seed, 1, self._block)).standard_normal(_BLOCK)
        size = 1 << (_BLOCK + _TAPS - 1).bit_length()
        spread = np.fft.irfft(np.fft.rfft(white, size) * np.fft.rfft(_filter(self._kind), size), size)
        steady = spread[:_BLOCK].copy()
        steady[: _TAPS - 1] += self._tail
        self._tail = spread[_BLOCK : _BLOCK + _TAPS - 1].copy()
        if self._block == 0:
            # The first block's start lacks what came before it: give it that much of another past.
            past = np.random.default_rng((self._seed, 4)).standard_normal(_TAPS - 1)
            steady[: _TAPS - 1] += np.convolve(past, _filter(self._kind))[_TAPS - 1 :]
        self._block += 1
        if self._kind is not NoiseKind.CABIN:
            return steady
        return steady * _drift(self._seed, first, _BLOCK) + self._bumps.over(first, _BLOCK)


def noise(count: int, seed: int, kind: NoiseKind = NoiseKind.CABIN) -> Sound:
    """Return `count` samples of noise whose steady part has a root mean square of 1."""
    return NoiseSource(seed, kind).take(count)


def _drift(seed: int, first: int, count: int) -> Sound:
    """Return the gain of each sample: independent levels every 4 s, joined by straight lines in dB."""
    at_s = (first + np.arange(count)) / RATE_HZ
    knots = np.arange(int(at_s[0] / _KNOT_S), int(at_s[-1] / _KNOT_S) + 2)
    levels_db = [float(np.random.default_rng((seed, 2, int(k))).normal(0, _DRIFT_DB)) for k in knots]
    return 10 ** (np.clip(np.interp(at_s, knots * _KNOT_S, levels_db), -3.5, 3.5) / 20)


class _Bumps:
    """Short thumps, 40-110 Hz with a little rattle, at random times 7 s apart on average."""

    def __init__(self, seed: int) -> None:
        self._rng = np.random.default_rng((seed, 3))
        self._next_at = self._gap()
        self._sounding: list[tuple[int, Sound]] = []

    def _gap(self) -> int:
        return round(self._rng.exponential(_BUMP_EVERY_S) * RATE_HZ) + 1

    def over(self, first: int, count: int) -> Sound:
        """Return the bumps' sound in the samples from `first`; pieces must be asked for in order."""
        while self._next_at < first + count:
            self._sounding.append((self._next_at, self._bump()))
            self._next_at += self._gap()
        heard = np.zeros(count)
        for start, bump in self._sounding:
            begin, end = max(start, first), min(start + len(bump), first + count)
            if begin < end:
                heard[begin - first : end - first] += bump[begin - start : end - start]
        self._sounding = [(at, bump) for at, bump in self._sounding if at + len(bump) > first + count]
        return heard

    def _bump(self) -> Sound:
        at_s = np.arange(round(_BUMP_LASTS_S * RATE_HZ)) / RATE_HZ
        strength, thump_hz = self._rng.uniform(1.0, 4.0), self._rng.uniform(40, 110)
        thump = np.sin(2 * np.pi * thump_hz * at_s) * np.exp(-at_s / 0.06)
        rattle = self._rng.standard_normal(len(at_s)) * np.exp(-at_s / 0.02) * 0.04
        fade = np.minimum(1, (at_s[-1] - at_s) / 0.05)
        bump: Sound = strength * (thump + rattle) * np.minimum(1, at_s / 0.004) * fade
        return bump


@dataclass(frozen=True, slots=True)
class Mixed:
    """Speech in noise, and the ratios in it.

    Attributes:
        samples: the mixture.
        ratios_db: speech over noise while somebody speaks, by each measure.
        gain: what speech and noise together were multiplied by so that nothing clips; 1 if nothing would.
    """

    samples: Samples
    ratios_db: dict[Measure, float]
    gain: float


def ratio_of(speech: Sound, sound: Sound, measure: Measure = Measure.BAND) -> float:
    """Return the ratio in dB of `speech` to the noise `sound` of the same length, as `mix` computes it."""
    active = _active(speech)
    strong, weak = (frame_powers(measured(each, measure))[active].mean() for each in (speech, sound))
    return float(10 * np.log10(strong / weak))


def mix(speech: Samples, sound: Sound, ratio_db: float, measure: Measure = Measure.BAND) -> Mixed:
    """Return `speech` with the noise `sound` (same length, any level) at a ratio.

    The noise is scaled and the speech stays, unless the sum would clip: then both are lowered.

    Raises:
        ValueError: the lengths differ, or there is no speech.
    """
    if len(speech) != len(sound):
        raise ValueError(f"{len(speech)} samples of speech cannot be mixed with {len(sound)} of noise")
    clean = speech.astype(np.float64)
    if not _active(clean).any():
        raise ValueError("there is no speech to set a ratio by")
    scaled = sound * 10 ** ((ratio_of(clean, sound, measure) - ratio_db) / 20)
    gain = min(1.0, 32000 / float(np.abs(clean + scaled).max()))
    return Mixed(
        samples=to_samples((clean + scaled) * gain),
        ratios_db={each: ratio_of(clean, scaled, each) for each in Measure},
        gain=gain,
    )


def in_cabin(
    speech: Samples,
    ratio_db: float | None,
    seed: int,
    *,
    measure: Measure = Measure.BAND,
    around_s: float = 0.5,
    kind: NoiseKind = NoiseKind.CABIN,
) -> Samples:
    """Return `speech` with `around_s` of silence on both sides, in noise; the way a microphone would give it.

    With `ratio_db` None the sound is clean but for a floor of white noise at a root mean square of 8 (about -72 dB
    of full scale): no microphone gives zeros, and recognisers that learned from people's recordings fail on them.
    """
    edge = np.zeros(round(around_s * RATE_HZ), dtype=np.int16)
    padded = np.concatenate((edge, speech, edge))
    if ratio_db is None:
        floor = 8 * np.random.default_rng(seed).standard_normal(len(padded))
        return to_samples(padded + floor)
    return mix(padded, noise(len(padded), seed, kind), ratio_db, measure).samples


def _active(speech: Sound) -> NDArray[np.bool_]:
    return active_frames(frame_powers(measured(speech, Measure.BAND)))
