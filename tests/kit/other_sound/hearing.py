"""What the recognisers say to each stretch that odovox would cut out of a sound file."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from rehearsed.records import Answers

from logger.core.segment import Segmenter
from logger.model import Hypothesis, Samples, Stretch
from logger.ports import Recogniser
from logger.sound.files import SoundFile
from logger.wiring.choosing import choose
from logger.wiring.sheets import load_sheet


@dataclass(frozen=True, slots=True)
class Heard:
    """One stretch, both recognisers' lists, and what they took in processor seconds.

    PocketSphinx is asked only where the call model heard a call: in odovox's default the call model decides that.
    """

    first_sample: int
    sample_count: int
    vosk: Answers
    sphinx: Answers
    vosk_s: float
    sphinx_s: float


def stretches(path: Path) -> Iterator[Stretch]:
    """Yield what `odovox ingest` cuts out of a sound file."""
    segmenter = Segmenter()
    for block in SoundFile(path):
        yield from segmenter.feed(block)
    yield from segmenter.close()


def hear(wanted: Iterator[Stretch], jobs: int) -> Iterator[Heard]:
    """Yield what is heard in each stretch, in order, by `jobs` processes."""
    # Recognisers are opened in each process: what Vosk has in memory does not stand a fork.
    with multiprocessing.get_context("spawn").Pool(jobs, _open) as pool:
        yield from pool.imap(_one, wanted)


_recognisers: list[Recogniser] = []


def _open() -> None:
    from grammar import Language

    language = Language(load_sheet(None).sheet.phrasebook)
    _recognisers[:] = [choose(name, None, language).recogniser for name in ("vosk", "pocketsphinx")]


def _one(stretch: Stretch) -> Heard:
    vosk, sphinx = _recognisers
    answers, vosk_s = _asked(vosk, stretch.samples)
    others, sphinx_s = _asked(sphinx, stretch.samples) if answers else ((), 0.0)
    return Heard(stretch.first_sample, len(stretch.samples), answers, others, vosk_s, sphinx_s)


def _asked(recogniser: Recogniser, samples: Samples) -> tuple[Answers, float]:
    began = time.process_time()
    hypotheses = recogniser.recognise(samples)
    return tuple((each.text, _score(each)) for each in hypotheses), time.process_time() - began


def _score(answer: Hypothesis) -> float:
    if answer.score is None:
        raise ValueError("a recogniser that gives no scores cannot be rehearsed")
    return answer.score
