"""A whole drive's sound: calls and talk at known samples in endless cabin noise, written as a stream."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from speechkit import RATE_HZ, Samples
from speechkit.calls import Said, SpokenCall
from speechkit.human import HumanCall
from speechkit.levels import Measure, Sound, active_rms, measured, to_samples
from speechkit.noise import NoiseKind, NoiseSource, steady_power
from speechkit.speaking import say
from speechkit.voices import Voice

_BLOCK = RATE_HZ
_LOUDEST_RMS = 4000.0


@dataclass(frozen=True, slots=True)
class DriveItem:
    """Something said in a drive.

    Attributes:
        at_s: when its first word starts, in seconds from the recording's start.
        said: a call, a human call, or talk as plain text.
        voice: who says it; not used for a human call.
        rate: how fast, 1 is the voice's own.
    """

    at_s: float
    said: SpokenCall | HumanCall | str
    voice: Voice | None = None
    rate: float = 1.0


@dataclass(frozen=True, slots=True)
class DriveTruth:
    """What was said in a drive and where it lies.

    Attributes:
        first_sample: the sample at which the first word becomes audible, at 16 kHz.
        end_sample: one after the last sample of speech.
        text: the words.
        truth: the readings; empty for commands and talk.
        kind: "call", "correction", a command's words, or "talk".
        voice: who said it.
    """

    first_sample: int
    end_sample: int
    text: str
    truth: tuple[Said, ...]
    kind: str
    voice: str


def render(
    path: Path,
    items: Iterable[DriveItem],
    total_s: float,
    ratio_db: float,
    *,
    seed: int,
    measure: Measure = Measure.BAND,
    kind: NoiseKind = NoiseKind.CABIN,
) -> tuple[DriveTruth, ...]:
    """Write a drive's sound to `path` (.flac or .wav, int16 mono 16 kHz) and return what is said in it, in order.

    Each item's power while it speaks is `ratio_db` above the steady noise's power, by the measure. The noise drifts
    and bumps about its steady level, so single calls lie a few dB above or below.

    Memory does not grow with `total_s`: sound is made and written a second at a time.

    Raises:
        ValueError: two items overlap, or one does not lie wholly within the drive; nothing is written then.
        VoiceMissingError, RecordingsMissingError: a voice is not installed.
    """
    import soundfile

    ordered = sorted(items, key=lambda each: each.at_s)
    total = round(total_s * RATE_HZ)
    truths = _placed(ordered, total)
    noise_rms, level = _levels(ratio_db, measure, kind)
    source = NoiseSource(seed, kind)
    sounding: list[tuple[int, Sound]] = []
    waiting = list(zip(truths, ordered, strict=True))[::-1]
    with soundfile.SoundFile(path, "w", samplerate=RATE_HZ, channels=1, subtype="PCM_16") as file:
        for first in range(0, total, _BLOCK):
            end = min(first + _BLOCK, total)
            block = source.take(end - first) * noise_rms
            while waiting and waiting[-1][0].first_sample < end:
                truth, item = waiting.pop()
                sounding.append((truth.first_sample, at_level(_sound(item), level, measure)))
            for start, sound in sounding:
                begin, stop = max(start, first), min(start + len(sound), end)
                block[begin - first : stop - first] += sound[begin - start : stop - start]
            sounding = [(start, sound) for start, sound in sounding if start + len(sound) > end]
            file.write(to_samples(block))
    return truths


def at_level(samples: Samples, level: float, measure: Measure) -> Sound:
    """Return speech scaled so that what counts of it has the active level `level`."""
    sound = samples.astype(np.float64)
    return sound * (level / active_rms(measured(sound, measure)))


def _levels(ratio_db: float, measure: Measure, kind: NoiseKind) -> tuple[float, float]:
    """Return the noise's root mean square and the speech's active level by the measure, for the ratio.

    Speech is at about -30 dB of full scale, or lower where the noise would else be too loud to fit.
    """
    speech_level = 1000.0
    noise_rms = speech_level / 10 ** (ratio_db / 20) / np.sqrt(steady_power(kind, measure))
    lowered = min(1.0, _LOUDEST_RMS / noise_rms)
    return float(noise_rms * lowered), speech_level * lowered


def _placed(items: list[DriveItem], total: int) -> tuple[DriveTruth, ...]:
    truths: list[DriveTruth] = []
    for item in items:
        first = round(item.at_s * RATE_HZ)
        end = first + len(_sound(item))
        if first < 0 or end > total:
            raise ValueError(
                f"what is said at {item.at_s} s does not lie within the drive's {total / RATE_HZ} s"
            )
        if truths and first < truths[-1].end_sample:
            raise ValueError(f"what is said at {item.at_s} s begins before the one before it ends")
        said = item.said
        truths.append(
            DriveTruth(
                first_sample=first,
                end_sample=end,
                text=said if isinstance(said, str) else said.text,
                truth=() if isinstance(said, str) else said.truth,
                kind=_kind(said),
                voice=item.voice.name if item.voice else "human",
            )
        )
    return tuple(truths)


def _kind(said: SpokenCall | HumanCall | str) -> str:
    if isinstance(said, SpokenCall):
        return said.kind
    return "call" if isinstance(said, HumanCall) else "talk"


def _sound(item: DriveItem) -> Samples:
    """Return an item's sound; from the cache, so that it need not be held between placing and writing."""
    if isinstance(item.said, HumanCall):
        return item.said.samples
    if item.voice is None:
        raise ValueError(f"what is said at {item.at_s} s needs a voice")
    return say(item.voice, item.said if isinstance(item.said, str) else item.said.script, item.rate)
