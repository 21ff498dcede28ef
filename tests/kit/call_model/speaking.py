"""`python -m call_model.speaking FOLDER`: TRAINING voices say the training texts, on every core.

Writes `part-N.samples.npy` (int16 at 16 kHz, one utterance after the other) and `part-N.json` (who says what where).
Needs no torch, so that it runs beside the synthesisers.
"""

from __future__ import annotations

import json
import multiprocessing
import random
import sys
import wave
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import click
import numpy as np
from numpy.typing import NDArray
from speechkit.levels import to_samples, trimmed_to_level
from speechkit.speaking import say
from speechkit.voices import MORE_TRACTS, TRAINING, Engine, Voice

from call_model.texts import Text, dictionary_words, texts
from grammar import Language, Phrasebook
from logger.recognisers.pronunciations import dictionary_path

Samples = NDArray[np.int16]
Utterance = tuple[str, Samples | None, tuple[str, ...]]
"""Who says it, the sound (None: the voice gave none) and the words."""

RECORDED = tuple(voice for voice in TRAINING if voice.engine is not Engine.ESPEAK)
FORMANTS = (*(voice for voice in TRAINING if voice.engine is Engine.ESPEAK), *MORE_TRACTS)
RECORDED_SHARE = 0.62
"""How often a voice made from a person's recordings speaks; formant synthesis has no such detail."""
DIGIT_SHARE = 0.06
"""How many utterances are strings of digits that people said."""
TEXTS_A_PART = 1000
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def part(number: int, folder: Path, digits: Path | None) -> None:
    """Speak and write one part."""
    rng = random.Random(f"call model voices {number}")
    vocabulary = tuple(sorted(Language(Phrasebook()).vocabulary))
    recorded = _people(digits) if digits else {}
    spoken: list[Utterance] = []
    for text in texts(TEXTS_A_PART, number, vocabulary, dictionary_words(dictionary_path())):
        if recorded and rng.random() < DIGIT_SHARE:
            spoken.append(_digit_string(recorded, rng))
        else:
            spoken.append(_spoken(text, rng))
    write_part(folder / f"part-{number}", spoken)


def write_part(path: Path, spoken: Iterable[Utterance]) -> None:
    """Write utterances beside each other as PATH.samples.npy and PATH.json, the list; those without sound are left out."""
    heard = [(who, samples, words) for who, samples, words in spoken if samples is not None]
    np.save(path.with_name(f"{path.name}.samples.npy"), np.concatenate([samples for _, samples, _ in heard]))
    index = [
        {"voice": who, "words": " ".join(words), "samples": len(samples)} for who, samples, words in heard
    ]
    # The list comes last and whole, so that a training that runs meanwhile takes finished parts only.
    listed = path.with_name(f"{path.name}.json.new")
    listed.write_text(json.dumps(index))
    listed.rename(path.with_name(f"{path.name}.json"))


def _spoken(text: Text, rng: random.Random) -> Utterance:
    of_people = rng.random() < RECORDED_SHARE
    voice: Voice = rng.choice(RECORDED if of_people else FORMANTS)
    if voice.engine is Engine.ESPEAK:
        voice = replace(voice, pitch=rng.randint(20, 80))
    # The rate lengthens and shortens without a change of pitch; that comes in training, by resampling.
    rate = round(rng.choice((1.0, rng.uniform(0.8, 1.3))), 2)
    try:
        return voice.name, say(voice, text.script, rate, cached=False), text.words
    except ValueError:
        return voice.name, None, text.words


def _people(folder: Path) -> dict[str, dict[str, list[Samples]]]:
    """Return speaker -> digit word -> recordings at 16 kHz, from files named DIGIT_SPEAKER_TAKE.wav."""
    import soxr

    found: dict[str, dict[str, list[Samples]]] = {}
    for path in sorted(folder.glob("*_*_*.wav")):
        digit, speaker, _ = path.stem.split("_")
        with wave.open(str(path)) as opened:
            rate_hz = opened.getframerate()
            sound = np.frombuffer(opened.readframes(opened.getnframes()), "<i2").astype(np.float64)
        speech = to_samples(trimmed_to_level(soxr.resample(sound, rate_hz, 16_000)))
        found.setdefault(speaker, {}).setdefault(_DIGITS[int(digit)], []).append(speech)
    return found


def _digit_string(
    people: dict[str, dict[str, list[Samples]]], rng: random.Random
) -> tuple[str, Samples, tuple[str, ...]]:
    who = rng.choice(sorted(people))
    words = tuple(rng.choice(_DIGITS) for _ in range(rng.randint(2, 7)))
    pieces: list[Samples] = []
    for word in words:
        pieces += [rng.choice(people[who][word]), np.zeros(round(rng.uniform(0.0, 0.12) * 16_000), np.int16)]
    return f"digits-{who}", np.concatenate(pieces), words


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--digits", type=click.Path(path_type=Path), default=None, help="Folder of recorded digits.")
@click.option("--parts", default=150, show_default=True, help="Of 1000 utterances each, about an hour.")
@click.option("--processes", default=None, type=int, help="As many as there are cores, if not given.")
def main(folder: Path, digits: Path | None, parts: int, processes: int | None) -> None:
    """Speak the training material into FOLDER."""
    folder.mkdir(parents=True, exist_ok=True)
    with multiprocessing.Pool(processes) as pool:
        jobs = [(number, folder, digits) for number in range(parts)]
        waiting = [pool.apply_async(part, job) for job in jobs]
        for done, each in enumerate(waiting, start=1):
            each.get()
            print(f"{done} of {parts} parts", file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
