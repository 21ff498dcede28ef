"""What listening costs: `measured` runs `python -m evaluation.costs` in a process of its own, on one core."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
import time
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
from speechkit.levels import Measure

from evaluation.conditions import CABIN, Condition
from evaluation.ears import AUTO, CALL_MODEL, POCKETSPHINX
from evaluation.trials import SYNTHETIC, language, trials
from logger.model import RATE_HZ
from logger.wiring.choosing import Choice, choose

CHOICES: dict[str, Choice] = {AUTO: "auto", CALL_MODEL: "vosk", POCKETSPHINX: "pocketsphinx"}
_SOUNDS = 14
_RATIO_DB = 10


@dataclass(frozen=True, slots=True)
class Cost:
    """What one recogniser takes, all on one core.

    Attributes:
        system: who listens; a public model by its name.
        share: processor seconds for each second of sound.
        memory_mb: the most that the process held, with Python itself.
        load_s: from nothing loaded to ready to listen, files in the system's cache.
        answer_s: from a whole call, half a second of quiet at its end, to the answer: the middle one.
        slow_answer_s: the same, of nine in ten not longer.
        sounds: how many calls.
        load_average: of the machine when it was measured; above 1 the times in seconds are too long.
    """

    system: str
    share: float
    memory_mb: float
    load_s: float
    answer_s: float
    slow_answer_s: float
    sounds: int
    load_average: float


def measured(system: str, model: Path | None = None, sounds: int = _SOUNDS) -> Cost:
    """Return what a recogniser takes: one of CHOICES, or `auto` with a public model.

    Raises:
        subprocess.CalledProcessError: it cannot be used.
    """
    condition = Condition(CABIN, _RATIO_DB, Measure.BROADBAND)
    calls = [trial for trial in trials() if trial.kind == SYNTHETIC][:sounds]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sounds.npz"
        np.savez(path, *(condition.heard(trial.sound(), trial.key, trial.speaker) for trial in calls))
        command = [sys.executable, "-m", "evaluation.costs", CHOICES.get(system, "auto"), str(path)]
        done = subprocess.run(
            [*command, *([str(model)] if model else [])],
            check=True,
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )
    found = json.loads(done.stdout)
    return Cost(system=system, **found)


def _most_memory_mb() -> float:
    # `getrusage` also counts what the process that started this one held.
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    found = re.search(r"VmHWM:\s+(\d+) kB", status)
    assert found is not None
    return round(int(found[1]) / 1024, 1)


def main(choice: Choice, path: str, model: str | None = None) -> None:
    """Print as JSON what a recogniser takes for the sounds in a file."""
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
    with np.load(path) as opened:
        sounds = [opened[name] for name in opened.files]
    words = language("default")
    before = os.getloadavg()[0]
    began = time.monotonic()
    recogniser = choose(choice, Path(model) if model else None, words).recogniser
    load_s = time.monotonic() - began
    waits, used_s = [], time.process_time()
    for sound in sounds:
        at = time.monotonic()
        recogniser.recognise(sound)
        waits.append(time.monotonic() - at)
    used_s = time.process_time() - used_s
    cost = Cost(
        system="",
        share=round(used_s / (sum(map(len, sounds)) / RATE_HZ), 4),
        memory_mb=_most_memory_mb(),
        load_s=round(load_s, 3),
        answer_s=round(float(np.quantile(waits, 0.5)), 3),
        slow_answer_s=round(float(np.quantile(waits, 0.9)), 3),
        sounds=len(sounds),
        load_average=round(before, 2),
    )
    print(json.dumps({name: value for name, value in asdict(cost).items() if name != "system"}))


if __name__ == "__main__":
    main(*sys.argv[1:])  # type: ignore[arg-type]
