"""Asks each recogniser about each trial under each condition, once, and keeps the answers on disk.

One line of JSON for each answer, in a file for each recogniser; the file's name tells all that answers depend on, so a change of
a model or of the code that listens begins a new one. A run that is stopped goes on where it stopped.
"""

from __future__ import annotations

import json
import multiprocessing
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from evaluation.conditions import Condition
from evaluation.ears import Ear
from evaluation.trials import CONDITIONS, COUNTS, Trial, language
from logger.errors import UnknownWordsError
from logger.model import RATE_HZ, HeardWord, Hypothesis
from logger.ports import Recogniser

Answers = tuple[Hypothesis, ...]
_TOLD_EVERY_S = 15.0


@dataclass(frozen=True, slots=True)
class Heard:
    """What one recogniser said to one trial under one condition, and what it took."""

    answers: Answers
    sound_s: float
    processor_s: float


Key = tuple[str, str]
"""A trial and a condition, by their names."""


@dataclass(frozen=True, slots=True)
class _Job:
    trial: Trial
    condition: Condition
    ears: tuple[Ear, ...]
    tune: bool


class Kept:
    """The answers of one recogniser on disk."""

    def __init__(self, folder: Path, ear: Ear) -> None:
        name = "-".join(part for part in (ear.name, ear.only, ear.identity) if part).replace(" ", "-").lower()
        self._path = folder / f"{name}.jsonl"
        self._file: IO[str] | None = None
        self.heard: dict[Key, Heard] = {}
        for line in self._path.read_text(encoding="utf-8").splitlines() if self._path.exists() else ():
            try:
                trial, condition, answers, sound_s, processor_s = json.loads(line)
            except ValueError:
                continue  # cut off when a run was killed; that trial is asked again
            self.heard[trial, condition] = Heard(_hypotheses(answers), sound_s, processor_s)

    def add(
        self, key: Key, answers: list[tuple[str, float | None]], sound_s: float, processor_s: float
    ) -> None:
        """Keep one answer more, at once."""
        if self._file is None:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            self._file = self._path.open("a", encoding="utf-8")
            self._file.write("\n" * bool(self.heard))  # after a line that was cut off
        self._file.write(json.dumps([*key, answers, round(sound_s, 3), round(processor_s, 4)]) + "\n")
        self._file.flush()
        self.heard[key] = Heard(_hypotheses(answers), sound_s, processor_s)

    def close(self) -> None:
        """Let go of the file."""
        if self._file:
            self._file.close()


def hear(
    trials: Sequence[Trial],
    ears: Sequence[Ear],
    conditions: Iterable[Condition],
    folder: Path,
    *,
    processes: int = 2,
    tune: bool = False,
) -> dict[Ear, dict[Key, Heard]]:
    """Return each recogniser's answers to all trials that it may hear, under those conditions that the trials' kinds have.

    What `folder` has already is not asked again. A model that lacks words of a language hears none of its trials.
    """
    wanted = tuple(conditions)
    kept = {ear: Kept(folder, ear) for ear in ears}
    jobs = [
        _Job(trial, condition, missing, tune)
        for trial in sorted(trials, key=_turn)
        for condition in wanted
        if condition in CONDITIONS[trial.kind]
        if (
            missing := tuple(
                ear for ear in ears if ear.hears(trial) and (trial.key, condition.name) not in kept[ear].heard
            )
        )
    ]
    _run(jobs, kept, processes)
    names = {(trial.key, condition.name) for trial in trials for condition in wanted}
    return {
        ear: {key: heard for key, heard in each.heard.items() if key in names} for ear, each in kept.items()
    }


def _turn(trial: Trial) -> float:
    """Return when a trial's turn is, so that a run that is stopped early has heard alike of every kind."""
    return trial.number / COUNTS.get(trial.kind, COUNTS["digits"])


def _run(jobs: list[_Job], kept: dict[Ear, Kept], processes: int) -> None:
    if not jobs:
        return
    _jobs[:] = jobs
    began = told = time.monotonic()
    for done, (index, answered) in enumerate(_asked(len(jobs), processes), start=1):
        key = jobs[index].trial.key, jobs[index].condition.name
        for ear, (answers, sound_s, processor_s) in answered.items():
            kept[ear].add(key, answers, sound_s, processor_s)
        now = time.monotonic()
        if now - told > _TOLD_EVERY_S or done == len(jobs):
            told = now
            left_min = (now - began) / done * (len(jobs) - done) / 60
            print(f"{done} of {len(jobs)} heard, {left_min:.0f} min left", file=sys.stderr, flush=True)
    for each in kept.values():
        each.close()


def _asked(count: int, processes: int) -> Iterator[_Answered]:
    """Yield the number of each job and what was said to it, as they are done."""
    if processes == 1:
        yield from map(_one, range(count))
        return
    # Recognisers are opened in each worker: what Vosk has in memory does not stand a fork.
    with multiprocessing.get_context("fork").Pool(processes) as pool:
        yield from pool.imap_unordered(_one, range(count))


_Answered = tuple[int, dict[Ear, tuple[list[tuple[str, float | None]], float, float]]]
_jobs: list[_Job] = []
_opened: dict[tuple[Ear, str], Recogniser | None] = {}


def _open(ear: Ear, sheet: str) -> Recogniser | None:
    """Return a recogniser, opened once in this process; None where it lacks words of the sheet."""
    if (ear, sheet) not in _opened:
        try:
            _opened[ear, sheet] = ear.open(language(sheet))
        except UnknownWordsError as error:
            print(f"{ear.name} hears nothing of the sheet {sheet}: {error}", file=sys.stderr, flush=True)
            _opened[ear, sheet] = None
    return _opened[ear, sheet]


def _one(index: int) -> _Answered:
    job = _jobs[index]
    sound = job.condition.heard(job.trial.sound(), job.trial.key, job.trial.speaker, tune=job.tune)
    said = {}
    for ear in job.ears:
        recogniser = _open(ear, job.trial.sheet)
        if recogniser is not None:
            began = time.process_time()
            answers = recogniser.recognise(sound)
            cost_s = time.process_time() - began
            said[ear] = [(each.text, each.score) for each in answers], len(sound) / RATE_HZ, cost_s
    return index, said


def _hypotheses(answers: list[tuple[str, float | None]]) -> Answers:
    return tuple(
        Hypothesis(rank, tuple(HeardWord(word, None, None) for word in text.split()), score)
        for rank, (text, score) in enumerate(answers)
    )
