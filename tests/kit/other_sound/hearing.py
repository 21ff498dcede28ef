"""What the recognisers say to each stretch that odovox would cut out of a sound file."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from rehearsed.records import Answers

from logger.core.fusing import heard_the_same
from logger.core.segment import Segmenter
from logger.model import Hypothesis, Samples, Stretch
from logger.ports import Recogniser
from logger.sound.files import SoundFile
from logger.wiring.choosing import choose
from logger.wiring.sheets import load_sheet


@dataclass(frozen=True, slots=True)
class Heard:
    """One stretch, both recognisers' lists, and what they took in processor seconds.

    PocketSphinx is asked only where the call model heard a call. Where the two together hear none, both lists are empty: they are
    kept without the times of words, by which that is decided too.
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
    if not heard_the_same(answers, others):
        answers = others = ()
    return Heard(
        stretch.first_sample, len(stretch.samples), _texts(answers), _texts(others), vosk_s, sphinx_s
    )


def _asked(recogniser: Recogniser, samples: Samples) -> tuple[tuple[Hypothesis, ...], float]:
    began = time.process_time()
    return recogniser.recognise(samples), time.process_time() - began


def _texts(hypotheses: tuple[Hypothesis, ...]) -> Answers:
    return tuple((each.text, _score(each)) for each in hypotheses)


def _score(answer: Hypothesis) -> float:
    if answer.score is None:
        raise ValueError("a recogniser that gives no scores cannot be rehearsed")
    return answer.score
