"""Songs: words sung by the kit's voices over chords, bass and drums, all computed.

Free music with words could not be had from a package, and words in music are what may be taken for a call. A spoken line
is taken apart by linear prediction (the mouth) and put together again with a pitch that follows a melody and vowels
held longer (the throat): a voice that sings in tune and can be understood, if not a beautiful one. Words and tunes were
made for odovox.
"""

from __future__ import annotations

import random

import numpy as np
from numpy.typing import NDArray
from speechkit import RATE_HZ, Samples
from speechkit.levels import Sound
from speechkit.speaking import say
from speechkit.voices import Voice

from other_sound import Placed

LYRICS = {
    "tuning": (
        "ninety nine miles from your front door",
        "I counted seven stars and then I counted more",
        "the radio is low and the night is long",
        "one more mile and one more song",
        "two hearts running at a hundred and ten",
        "tell me when you will be home again",
        "oh the river, oh the rain",
        "fifty ways to miss the train",
        "three in the morning on a gravel road",
        "carry me over, carry the load",
        "hold the line, hold the line",
        "twenty dollars and a bottle of wine",
    ),
    "report": (
        "forty days and forty nights alone",
        "six hundred miles of broken stone",
        "give me one percent of all your love",
        "and every light that burns above",
        "we were twenty one and we were young",
        "these are the only words I ever sung",
        "half past midnight, nobody there",
        "ten thousand candles in the air",
        "how far, how far till the morning comes",
        "I hear the wheels, I hear the drums",
        "eighty eight keys and not one for me",
        "zero to nothing, down to the sea",
    ),
}

_ORDER = 18
_FRAME, _HOP, _SPECTRUM = 512, 128, 1024
_EMPHASIS = 0.97
_SCALES = ((0, 2, 4, 7, 9), (0, 3, 5, 7, 10), (0, 2, 4, 5, 7, 9, 11))
_PROGRESSIONS = ((0, 7, 9, 5), (0, 9, 5, 7), (0, 5, 0, 7), (9, 5, 0, 7))
_MINOR = frozenset({9, 2, 4})
"""Steps of the key whose chord is a minor one."""

_Complex = NDArray[np.complex128]


def song(group: str, voice: Voice, seed: int, lines: int = 14) -> tuple[Sound, tuple[Placed, ...]]:
    """Return a song of about two minutes and where its words lie; it follows from the seed."""
    rng = random.Random(f"other sound song {seed}")
    beat = round(60 / rng.uniform(76, 132) * RATE_HZ)
    key, scale = rng.uniform(-5, 5), rng.choice(_SCALES)
    # Men's and women's tunes an octave apart or so; which voice is which does not matter here.
    root_hz = rng.choice((110.0, 147.0, 196.0, 220.0)) * 2 ** (key / 12)
    words = [rng.choice(LYRICS[group]) for _ in range(lines)]
    placed, sung_parts, bar = [], [], 4
    for text in words:
        tune = _tune(scale, rng)
        part = sung(say(voice, text), root_hz, tune, beat // rng.choice((1, 2)), rng.uniform(1.3, 2.2))
        first = bar * 4 * beat
        placed.append(Placed(first, first + len(part), text))
        sung_parts.append(part)
        bar += -(-len(part) // (4 * beat)) + rng.choice((0, 0, 1))
    sound = band((bar + 4) * 4, beat, root_hz, seed)
    voice_gain = rng.uniform(1.0, 1.8) / _rms(np.concatenate(sung_parts)) * _rms(sound)
    for where, part in zip(placed, sung_parts, strict=True):
        sound[where.first_sample : where.end_sample] += voice_gain * part
    return sound, tuple(placed)


def sung(speech: Samples, root_hz: float, tune: list[int], note: int, slower: float) -> Sound:
    """Return a spoken line sung: each note `note` samples long, the line `slower` times as long as spoken."""
    frames = np.lib.stride_tricks.sliding_window_view(
        np.pad(_emphasised(speech), (_FRAME // 2, _FRAME)), _FRAME
    )[::_HOP]
    mouths, strengths, voiced = _analysed(frames * np.hanning(_FRAME))
    count = round(len(frames) * slower)
    taken = np.minimum((np.arange(count) / slower).astype(np.intp), len(frames) - 1)
    length = count * _HOP + _FRAME
    steps = np.array(tune)[np.minimum(np.arange(length) // note, len(tune) - 1)]
    glide = np.convolve(steps, np.ones(640) / 640, mode="same")
    at_s = np.arange(length) / RATE_HZ
    pitch_hz = root_hz * 2 ** ((glide + 0.3 * np.sin(2 * np.pi * 5.5 * at_s)) / 12)
    phase = np.cumsum(pitch_hz / RATE_HZ)
    pulses = np.diff(np.floor(phase), prepend=0) * np.sqrt(RATE_HZ / pitch_hz)
    breath = np.random.default_rng(len(speech)).standard_normal(length)
    windows = (
        np.lib.stride_tricks.sliding_window_view(each, _FRAME)[::_HOP][:count] for each in (pulses, breath)
    )
    hummed, hissed = (np.fft.rfft(each * np.hanning(_FRAME), _SPECTRUM) for each in windows)
    share = voiced[taken, np.newaxis]
    spectra = (share * hummed + (1 - share) * hissed) * mouths[taken] * strengths[taken, np.newaxis]
    pieces = np.fft.irfft(spectra, _SPECTRUM)
    whole = np.zeros(length + _SPECTRUM)
    for index, piece in enumerate(pieces):
        whole[index * _HOP : index * _HOP + _SPECTRUM] += piece
    return whole[:length]


def _analysed(frames: Sound) -> tuple[_Complex, Sound, Sound]:
    """Return each frame's filter (with what emphasis took off put back), strength, and how voiced it is, 0 to 1."""
    powers = np.abs(np.fft.rfft(frames, _SPECTRUM)) ** 2
    lags = np.fft.irfft(powers)[:, : RATE_HZ // 70]
    first = lags[:, : _ORDER + 1] * 1.0
    first[:, 0] = first[:, 0] * 1.0001 + 1e-3
    index = np.abs(np.arange(_ORDER)[:, np.newaxis] - np.arange(_ORDER))
    weights = np.linalg.solve(first[:, index], first[:, 1:, np.newaxis])[:, :, 0]
    strengths = np.sqrt(np.maximum(first[:, 0] - (weights * first[:, 1:]).sum(axis=1), 0) / _FRAME)
    whitener = np.concatenate((np.ones((len(frames), 1)), -weights), axis=1)
    emphasis = np.fft.rfft([1, -_EMPHASIS], _SPECTRUM)
    mouths = 1 / (np.fft.rfft(whitener, _SPECTRUM) * emphasis)
    periodic = lags[:, RATE_HZ // 350 :].max(axis=1) / first[:, 0]
    return mouths, strengths, np.clip((periodic - 0.2) / 0.2, 0, 1)


def _emphasised(speech: Samples) -> Sound:
    sound = speech.astype(np.float64)
    return sound - _EMPHASIS * np.concatenate(([0.0], sound[:-1]))


def _tune(scale: tuple[int, ...], rng: random.Random) -> list[int]:
    """Return the notes of a line in half tones over the root: steps up and down the scale, home at the end."""
    at, tune = rng.randrange(len(scale)), []
    for _ in range(24):
        tune.append(scale[at % len(scale)] + 12 * (at // len(scale)))
        at = min(max(at + rng.choice((-2, -1, -1, 0, 0, 1, 1, 2)), -1), len(scale) + 1)
    return tune


def band(beats: int, beat: int, root_hz: float, seed: int) -> Sound:
    """Return so many beats of chords, bass and drums."""
    rng = np.random.default_rng((seed, 7))
    steps = _PROGRESSIONS[rng.integers(len(_PROGRESSIONS))]
    bright, drums, plucked = rng.uniform(0.5, 1.6), rng.uniform(0.0, 1.2), bool(rng.integers(2))
    sound = np.zeros(beats * beat + RATE_HZ)
    for number in range(beats):
        at = number * beat
        step = steps[number // 4 % 4]
        low_hz = root_hz / 2 * 2 ** ((step - 12 * (step > 6)) / 12)
        if number % 4 == 0 or plucked:
            lasts = beat if plucked else 4 * beat
            for above in (0, 3 if step in _MINOR else 4, 7):
                _add(sound, at, 0.5 * _tone(2 * low_hz * 2 ** (above / 12), lasts, bright, plucked=plucked))
        _add(sound, at, 0.9 * _tone(low_hz, beat, 2.0, plucked=True))
        for kind, half in ((number % 2, 0), (2, 0), (2, beat // 2)):
            _add(sound, at + half, drums * _drum(kind, rng))
    return sound


def _add(sound: Sound, at: int, part: Sound) -> None:
    end = min(at + len(part), len(sound))
    sound[at:end] += part[: end - at]


def _tone(pitch_hz: float, count: int, falling: float, *, plucked: bool) -> Sound:
    """Return a note of harmonics, each weaker by its number to the power of `falling`."""
    at_s = np.arange(count) / RATE_HZ
    harmonics = np.arange(1, min(24, int(7000 / pitch_hz)) + 1)
    waves = (
        np.sin(2 * np.pi * pitch_hz * harmonics[:, np.newaxis] * at_s) / harmonics[:, np.newaxis] ** falling
    )
    fade = np.minimum(1, np.minimum(at_s / 0.01, (at_s[-1] - at_s) / 0.03))
    shape = np.exp(-at_s / 0.35) if plucked else 0.7
    note: Sound = waves.sum(axis=0) * fade * shape
    return note


def _drum(kind: int, rng: np.random.Generator) -> Sound:
    """Return a bass drum (0), a snare (1) or a cymbal (2)."""
    at_s = np.arange(RATE_HZ // 4) / RATE_HZ
    hiss = rng.standard_normal(len(at_s))
    if kind == 0:
        bass: Sound = (
            2.0 * np.sin(2 * np.pi * (50 * at_s + 4 * (1 - np.exp(-at_s / 0.03)))) * np.exp(-at_s / 0.09)
        )
        return bass
    if kind == 1:
        snare: Sound = (0.8 * hiss + 0.6 * np.sin(2 * np.pi * 190 * at_s)) * np.exp(-at_s / 0.07)
        return snare
    cymbal: Sound = 0.4 * np.diff(hiss, prepend=0) * np.exp(-at_s / 0.03)
    return cymbal


def _rms(sound: Sound) -> float:
    return float(np.sqrt(np.mean(sound**2)))
