"""`python -m call_model.neural_speaking FOLDER`: Kokoro's speakers, and voices between two of them, say training texts on a GPU.

Writes parts as `call_model.speaking` does, which can run beside it into the same folder: training reads both.
"""

from __future__ import annotations

import multiprocessing
import random
import sys
from pathlib import Path

import click
import numpy as np
import torch
from numpy.typing import NDArray
from speechkit import RATE_HZ, neural
from speechkit.levels import to_samples, trimmed_to_level
from speechkit.voices import NEURAL_SPEAKERS, kokoro

from call_model.neural_graph import Graph
from call_model.speaking import write_part
from call_model.texts import Text, dictionary_words, texts
from grammar import Language, Phrasebook
from logger.recognisers.pronunciations import dictionary_path

TEXTS_A_PART = 250
_FIRST_SEED = 100_000
"""Of the texts; those of `speaking` are below."""
_BETWEEN = 0.6
"""How often a voice is one between two speakers, so that a few dozen become a crowd."""
_graphs: dict[str, Graph] = {}


def part(number: int, folder: Path, device: str) -> None:
    """Speak and write one part."""
    rng = random.Random(f"call model neural voices {number}")
    vocabulary = tuple(sorted(Language(Phrasebook()).vocabulary))
    said = texts(TEXTS_A_PART, _FIRST_SEED + number, vocabulary, dictionary_words(dictionary_path()))
    spoken = [
        (speaker, text, _say(speaker, text, rng, device)) for text in said for speaker in (_speaker(rng),)
    ]
    write_part(
        folder / f"part-neural-{number}",
        [(kokoro(speaker).speaker, samples, text.words) for speaker, text, samples in spoken],
    )


def _speaker(rng: random.Random) -> str:
    first, second = rng.sample(NEURAL_SPEAKERS, 2)
    return f"{first}:{second}:{rng.uniform(0.1, 0.5):.2f}" if rng.random() < _BETWEEN else first


def _say(speaker: str, text: Text, rng: random.Random, device: str) -> NDArray[np.int16]:
    import soxr

    if device not in _graphs:
        torch.set_num_threads(1)
        torch.backends.cudnn.allow_tf32 = torch.backends.cuda.matmul.allow_tf32 = True
        _graphs[device] = Graph(neural.kokoro_model(), device)
    rate = round(rng.choice((1.0, rng.uniform(0.8, 1.3))), 2)
    inputs = neural.kokoro_inputs(speaker, text.script, rate)
    sound = _graphs[device](**{name: torch.tensor(each) for name, each in inputs.items()}).cpu().numpy()
    at_rate = soxr.resample(sound.astype(np.float64) * 32767, neural.RATE_HZ, RATE_HZ, quality="HQ")
    return to_samples(trimmed_to_level(at_rate))


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--parts", default=120, show_default=True, help="Of 250 utterances each, about a quarter of an hour."
)
@click.option(
    "--first",
    default=0,
    show_default=True,
    help="Number of the first part, where several run beside each other.",
)
@click.option("--processes", default=8, show_default=True, help="Each with a model of its own on the GPU.")
@click.option("--device", default="cuda", show_default=True, help="Where to compute, as torch names it.")
def main(folder: Path, parts: int, first: int, processes: int, device: str) -> None:
    """Speak training material into FOLDER."""
    folder.mkdir(parents=True, exist_ok=True)
    # A GPU cannot be used by a process that was forked.
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        waiting = [pool.apply_async(part, (number, folder, device)) for number in range(first, first + parts)]
        for done, each in enumerate(waiting, start=1):
            each.get()
            print(f"{done} of {parts} neural parts", file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
