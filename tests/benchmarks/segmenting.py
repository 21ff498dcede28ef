"""How well calls are cut out of cabin noise: one command, fixed seeds, one table.

    PYTHONPATH=. python tests/benchmarks/segmenting.py           the figures to report
    PYTHONPATH=. python tests/benchmarks/segmenting.py --tune    other seeds and voices, for choosing settings

Calls of three readings with pauses of 0.2-0.45 s inside, 5-40 s apart, lie in continuous noise with a cabin-like
slope, slow level drift and, in the "rough" rows, bumps, gusts and changes of road surface. The signal-to-noise
ratio is that of the 300-3400 Hz band: speech over the frames in which somebody speaks (no more than 15.9 dB below
the active level, the margin of ITU-T P.56, from memory), noise over the whole drive. A call's true extent is where
its clean sound is within 40 dB of its loudest frame (common practice).

Voices: Debian's espeak-ng, flite and festival, and the recorded human number words of asterisk-core-sounds-en-wav.
"""

from __future__ import annotations

import argparse
import functools
import math
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray
from tabulate import tabulate

from logger.core.segment import Segmenter
from logger.model import RATE_HZ, SoundBlock, Stretch

Sound = NDArray[np.float64]

REPORT_VOICES = (
    "espeak:en-us+f3",
    "espeak:en-gb-scotland",
    "flite:slt",
    "flite:rms",
    "festival:cmu_us_slt_arctic_hts",
    "human",
)
TUNE_VOICES = ("espeak:en-us+m3", "espeak:en-gb+f2", "flite:awb", "flite:kal16", "festival:kal_diphone")
HUMAN_DIGITS = Path("/usr/share/asterisk/sounds/en_US_f_Allison/digits")
WORDS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
FRAME = RATE_HZ // 100


@dataclass(frozen=True, slots=True)
class Truth:
    """Where one call really lies, in samples."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Drive:
    """Clean calls and noise, each with power 1 in 300-3400 Hz, and where the calls lie."""

    speech: Sound
    noise: Sound
    truths: list[Truth]


# --- speech -----------------------------------------------------------------------------------------------


def number(n: int) -> str:
    """Return 0-99 in words."""
    teens = [
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
    ]
    if n < 10:
        return WORDS[n]
    if n < 20:
        return teens[n - 10]
    return TENS[n // 10 - 2] + (f" {WORDS[n % 10]}" if n % 10 else "")


def call_texts(rng: np.random.Generator) -> tuple[str, ...]:
    """Return the parts of one call; the speaker pauses between them."""
    hundreds = ("", "one hundred ", "two ")[rng.integers(3)]
    charge = f"{number(int(rng.integers(2, 100)))} percent"
    trip = f"{hundreds}{number(int(rng.integers(1, 100)))} point {WORDS[rng.integers(10)]} miles"
    third = (
        f"{WORDS[rng.integers(2, 6)]} point {WORDS[rng.integers(10)]} miles per kilowatt hour",
        f"{number(int(rng.integers(40, 99)))} miles left",
        f"outside {number(int(rng.integers(20, 99)))} degrees",
    )[rng.integers(3)]
    parts = [trip, third]
    parts.insert(int(rng.integers(3)), charge)
    if rng.random() < 0.6:
        return (f"checkpoint {parts[0]}", *parts[1:])
    return ("checkpoint", *parts)


@functools.cache
def spoken(voice: str, text: str) -> Sound:
    """Return one part spoken by a synthetic voice, trimmed to its extent."""
    engine, _, name = voice.partition(":")
    with tempfile.TemporaryDirectory() as folder:
        wav = str(Path(folder) / "part.wav")
        if engine == "espeak":
            subprocess.run(["espeak-ng", "-v", name, "-s", "165", "-w", wav, text], check=True)
        elif engine == "flite":
            subprocess.run(["flite", "-voice", name, "-t", text, "-o", wav], check=True)
        else:
            command = ["text2wave", "-eval", f"(voice_{name})", "-o", wav]
            subprocess.run(command, input=text.encode(), check=True)
        return read_trimmed(wav)


@functools.cache
def read_trimmed(path: str) -> Sound:
    """Return a sound file at `RATE_HZ`, trimmed to its extent, its loudest sample 1."""
    sound, rate = soundfile.read(path)
    sound = soxr.resample(sound, rate, RATE_HZ)
    start, end = extent(sound)
    cut: Sound = sound[start:end] / np.max(np.abs(sound))
    return cut


def human_part(rng: np.random.Generator) -> Sound:
    """Return two to four recorded number words in a row."""
    names = [str(rng.integers(20)) for _ in range(rng.integers(2, 5))]
    return np.concatenate([read_trimmed(str(HUMAN_DIGITS / f"{name}.wav")) for name in names])


def spoken_call(voice: str, rng: np.random.Generator) -> Sound:
    """Return one clean call with pauses of 0.2-0.45 s between its parts."""
    if voice == "human":
        parts = [human_part(rng) for _ in range(3)]
    else:
        parts = [spoken(voice, text) for text in call_texts(rng)]
    pieces: list[Sound] = []
    for part in parts:
        pieces += [part, np.zeros(int(rng.uniform(0.2, 0.45) * RATE_HZ))]
    return np.concatenate(pieces[:-1])


# --- measures ---------------------------------------------------------------------------------------------


def filtered(sound: Sound, power: Callable[[Sound], Sound]) -> Sound:
    """Return the sound with its spectrum weighted by a power gain over frequency (Hz)."""
    size = 1 << (len(sound) - 1).bit_length()
    spectrum = np.fft.rfft(sound, size) * np.sqrt(power(np.fft.rfftfreq(size, 1 / RATE_HZ)))
    return np.fft.irfft(spectrum, size)[: len(sound)]


def frame_powers(sound: Sound, low_hz: float, high_hz: float) -> Sound:
    """Return the mean square within a band for each 10 ms frame."""
    band = filtered(sound, lambda hz: np.where((hz >= low_hz) & (hz <= high_hz), 1.0, 0.0))
    whole = len(band) // FRAME * FRAME
    powers: Sound = np.mean(band[:whole].reshape(-1, FRAME) ** 2, axis=1)
    return powers


def extent(sound: Sound) -> tuple[int, int]:
    """Return the samples between which the sound is within 40 dB of its loudest frame."""
    powers = frame_powers(sound, 60, 8000)
    loud = np.flatnonzero(powers >= powers.max() * 1e-4)
    return int(loud[0]) * FRAME, (int(loud[-1]) + 1) * FRAME


def active_power(sound: Sound) -> float:
    """Return the speech power in 300-3400 Hz over the frames in which somebody speaks."""
    powers = frame_powers(sound, 300, 3400)
    level = float(powers.mean())
    for _ in range(20):
        level = float(powers[powers >= level * 10**-1.59].mean())
    return level


# --- noise ------------------------------------------------------------------------------------------------


def shaped(count: int, power: Callable[[Sound], Sound], rng: np.random.Generator) -> Sound:
    """Return Gaussian noise with the given power spectrum over frequency (Hz), RMS 1."""
    sound = filtered(rng.standard_normal(count), power)
    return sound / math.sqrt(float(np.mean(sound**2)))


def drift_db(count: int, seconds: float, depth_db: float, rng: np.random.Generator) -> Sound:
    """Return a slow random level curve: a point each `seconds`, joined by straight lines."""
    points = int(count / RATE_HZ / seconds) + 3
    levels = np.clip(rng.normal(0, depth_db, points), -2 * depth_db, 2 * depth_db)
    return np.interp(np.arange(count) / RATE_HZ / seconds, np.arange(points), levels)


def cabin_noise(seconds: float, rng: np.random.Generator, *, rough: bool) -> Sound:
    """Return cabin-like noise: most energy below 500 Hz, some broadband, slow drift; rough adds events."""
    count = int(seconds * RATE_HZ)
    corner, slope, floor_db = rng.uniform(60, 120), rng.uniform(1.0, 1.5), rng.uniform(-42, -30)
    road = shaped(
        count, lambda hz: 1 / (1 + (hz / corner) ** 2) ** slope + 10 ** (floor_db / 10) / (1 + hz / 500), rng
    )
    level_db = drift_db(count, 12, 2.0, rng)
    if rough:
        at = 0.0
        while (at := at + rng.uniform(30, 90)) < seconds:  # another surface
            step = rng.uniform(-5, 5)
            level_db += step * np.clip((np.arange(count) / RATE_HZ - at) / 0.4, 0, 1)
            level_db = np.clip(level_db, -8, 8)
    sound = road * 10 ** (level_db / 20)
    if not rough:
        return sound
    for start, length in events(seconds, 20, 0.8, 3.0, rng):  # gusts
        rise = 10 ** (rng.uniform(3, 9) / 20)
        gust = shaped(length, lambda hz: 1 / (1 + (hz / 150) ** 2) ** 1.2, rng) * np.hanning(length)
        sound[start : start + length] += rise * gust[: count - start]
    for start, length in events(seconds, 8, 0.1, 0.3, rng):  # bumps
        decay = np.exp(-np.arange(length) / RATE_HZ / rng.uniform(0.02, 0.08))
        bump = shaped(length, lambda hz: 1 / (1 + (hz / 100) ** 2) ** 1.2, rng) * decay
        sound[start : start + length] += rng.uniform(2, 8) * bump[: count - start]
    return sound


def events(
    seconds: float, every: float, shortest: float, longest: float, rng: np.random.Generator
) -> Iterator[tuple[int, int]]:
    """Yield the start and length, in samples, of events about `every` seconds apart."""
    at = rng.exponential(every)
    while at < seconds - longest:
        yield int(at * RATE_HZ), int(rng.uniform(shortest, longest) * RATE_HZ)
        at += longest + rng.exponential(every)


# --- a drive, and what became of it -----------------------------------------------------------------------


def as_int16(sound: Sound) -> NDArray[np.int16]:
    """Return the sound with its loudest sample at -1 dB of full scale, or as it is if that is quieter."""
    return np.round(sound * 29000 / max(1.0, float(np.max(np.abs(sound))))).astype(np.int16)


def make_drive(calls: list[Sound], rng: np.random.Generator, *, rough: bool) -> Drive:
    """Return calls laid 5-40 s apart, and noise to go with them."""
    gaps = rng.uniform(5, 40, len(calls) + 1)
    count = int(gaps.sum() * RATE_HZ) + sum(map(len, calls))
    speech, truths, at = np.zeros(count), [], 0
    for gap, call in zip(gaps, calls, strict=False):
        at += int(gap * RATE_HZ)
        start, end = extent(call)
        speech[at : at + len(call)] = call / math.sqrt(active_power(call))
        truths.append(Truth(at + start, at + end))
        at += len(call)
    noise = cabin_noise(count / RATE_HZ + 1, rng, rough=rough)[:count]
    return Drive(speech, noise / math.sqrt(float(frame_powers(noise, 300, 3400).mean())), truths)


def mixed(drive: Drive, snr_db: float | None) -> NDArray[np.int16]:
    """Return a drive's sound at a ratio; None means one bit of white noise only."""
    if snr_db is None:
        noise = np.random.default_rng(1).standard_normal(len(drive.speech))
        return as_int16(0.05 * drive.speech + noise / 29000)
    return as_int16(0.05 * (drive.speech + drive.noise * 10 ** (-snr_db / 20)))


@dataclass(frozen=True, slots=True)
class Found:
    """A stretch, and how much sound had been fed when it came out."""

    start: int
    end: int
    out_at: int


def cut(samples: NDArray[np.int16]) -> list[Found]:
    """Return what the segmenter cuts out when fed live, a tenth of a second at a time."""
    segmenter = Segmenter()
    found: list[Found] = []
    size = RATE_HZ // 10
    for at in range(0, len(samples), size):
        block = SoundBlock(at, samples[at : at + size])
        found += [span(stretch, at + len(block.samples)) for stretch in segmenter.feed(block)]
    return found + [span(stretch, len(samples)) for stretch in segmenter.close()]


def span(stretch: Stretch, out_at: int) -> Found:
    """Return where a stretch lies."""
    return Found(stretch.first_sample, stretch.first_sample + len(stretch.samples), out_at)


def fate(truth: Truth, found: list[Found]) -> str:
    """Return what became of one call."""
    touching = [one for one in found if one.start < truth.end and one.end > truth.start]
    if not touching:
        return "missed"
    if len(touching) > 1:
        return "split"
    cut_s = max(touching[0].start - truth.start, truth.end - touching[0].end, 0) / RATE_HZ
    return "whole" if cut_s == 0 else "nicked" if cut_s <= 0.05 else "clipped"


def delays_s(truths: list[Truth], found: list[Found]) -> list[float]:
    """Return how long after the end of each whole call its stretch came out."""
    return [
        (one.out_at - truth.end) / RATE_HZ
        for truth in truths
        for one in found
        if one.start <= truth.start and truth.end <= one.end
    ]


def row(truths: list[Truth], found: list[Found], samples: NDArray[np.int16]) -> list[object]:
    """Return one drive's figures: calls, whole, nicked, clipped, split, missed, kept, delays."""
    fates = [fate(truth, found) for truth in truths]
    late = np.quantile(delays_s(truths, found), (0.5, 0.95))
    return [
        len(fates),
        f"{100 * fates.count('whole') / len(fates):.1f} %",
        *(fates.count(name) for name in ("nicked", "clipped", "split", "missed")),
        f"{100 * share(found, samples):.0f} %",
        f"{late[0]:.1f} s",
        f"{late[1]:.1f} s",
    ]


def share(found: list[Found], samples: NDArray[np.int16]) -> float:
    """Return the share of the sound that lies in stretches."""
    return sum(one.end - one.start for one in found) / len(samples)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description="Measure the segmenter.")
    parser.add_argument("--tune", action="store_true", help="use the seeds and voices for choosing settings")
    parser.add_argument("--calls", type=int, default=120, help="calls per row")
    options = parser.parse_args()
    voices, seed = (TUNE_VOICES, 7001) if options.tune else (REPORT_VOICES, 2026)
    rng = np.random.default_rng(seed)
    calls = [spoken_call(voices[i % len(voices)], rng) for i in range(options.calls)]
    rows: list[list[object]] = []
    only: list[list[object]] = []
    spent_s = sound_s = 0.0
    for rough in (False, True):
        name = "rough" if rough else "steady"
        drive = make_drive(calls, np.random.default_rng([seed, int(rough)]), rough=rough)
        for snr_db in (20, 10, 5, 0) if rough else (None, 20, 10, 5, 0):
            samples = mixed(drive, snr_db)
            began_s = time.process_time()
            found = cut(samples)
            spent_s += time.process_time() - began_s
            sound_s += len(samples) / RATE_HZ
            rows.append(
                [name, "clean" if snr_db is None else f"{snr_db} dB", *row(drive.truths, found, samples)]
            )
        for car in range(3):
            noise = as_int16(0.1 * cabin_noise(600, np.random.default_rng([seed, 5, car]), rough=rough))
            only.append([name, car + 1, f"{100 * share(cut(noise), noise):.1f} %"])
    headers = [
        "noise",
        "ratio",
        "calls",
        "whole",
        "cut <= 50 ms",
        "clipped",
        "split",
        "missed",
        "kept",
        "out after",
        "95 %",
    ]
    print(tabulate(rows, headers))
    print()
    print(tabulate(only, ["noise only, 10 min", "car", "kept"]))
    print(f"\n{100 * spent_s / sound_s:.2f} % of real time on one core, fed a tenth of a second at a time")


if __name__ == "__main__":
    main()
