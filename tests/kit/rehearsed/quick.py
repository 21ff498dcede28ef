"""A small set of rehearsed drives that is kept in the repository, so that every test run reconciles real lists.

They are of the TUNING group: nothing is learned from them that the settings were not chosen on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from logger.core.calibration import calibration_of
from logger.core.candidates import LEAST_ANSWER, weights
from rehearsed.bank import load_bank
from rehearsed.exceptions import EXCEPTIONS, compose
from rehearsed.hearing import joined
from rehearsed.records import Answers, RehearsedCall, RehearsedDrive, load, save
from rehearsed.settled import BOTH

QUICK = Path(__file__).resolve().parents[2] / "benchmarks" / "data" / "rehearsed-quick.jsonl.gz"
_MAIN = ("tuning-00-10dB", "tuning-01-10dB", "tuning-02-5dB")
_CALLS = 40
_SEEDS = range(5)
_RATIO_DB = 10.0


def write_quick(main: Path, bank: Path) -> None:
    """Write `QUICK` from the tuning group's whole files: the beginnings of three drives, five of each exception."""
    cut = [replace(drive, calls=drive.calls[:_CALLS]) for drive in load(main) if drive.name in _MAIN]
    held = load_bank(bank)
    composed = (compose(held, exception, seed, _RATIO_DB) for exception in EXCEPTIONS for seed in _SEEDS)
    save(QUICK, _shortened([*cut, *composed]))


def _shortened(drives: list[RehearsedDrive]) -> Iterator[RehearsedDrive]:
    for drive in drives:
        yield replace(drive, calls=tuple(_looked_at(call) for call in drive.calls))


def _looked_at(call: RehearsedCall) -> RehearsedCall:
    """Return a call without the answers that the reconciler is too sure are not the truth to look at."""
    answers = joined(call.vosk, call.sphinx)
    chances = weights(answers, calibration_of(BOTH))
    kept = {each.text for each, chance in zip(answers, chances, strict=True) if chance >= LEAST_ANSWER}
    return replace(call, vosk=_of(call.vosk, kept), sphinx=_of(call.sphinx, kept), open_words=None)


def _of(answers: Answers, kept: set[str]) -> Answers:
    """Return the answers to keep, the worst among them: joining puts what a list lacks below its worst."""
    worst = min((score for _, score in answers), default=0.0)
    return tuple((text, score) for text, score in answers if text in kept or score == worst)
