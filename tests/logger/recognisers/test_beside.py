"""Work in a second process: the same results, also when that process dies, and nothing left behind."""

from __future__ import annotations

import os
import signal

import numpy as np
import pytest

from logger.model import Samples
from logger.recognisers.beside import Beside


def whose(samples: Samples) -> tuple[int, int]:
    """Who worked, and on what."""
    return os.getpid(), int(samples.sum())


def sound(value: int) -> Samples:
    """A sound that tells which it is."""
    return np.full(100_000, value, np.int16)


def test_another_process_does_the_work() -> None:
    """What is asked for is the result of the newest sound, whatever was begun before and never asked for."""
    beside = Beside(whose)
    beside.begin(sound(1))
    first = beside.result()
    beside.begin(sound(2))
    beside.begin(sound(3))

    assert (beside.process_id, 100_000) == first
    assert (beside.process_id, 300_000) == beside.result()
    assert beside.process_id != os.getpid()


@pytest.mark.parametrize("when", ["before", "while"])
def test_one_who_died_is_done_without(when: str) -> None:
    """Killed before it is asked or while it works, its owner does the work, then and afterwards."""
    beside = Beside(whose)
    if when == "while":
        os.kill(beside.process_id, signal.SIGSTOP)
        beside.begin(sound(1))
    os.kill(beside.process_id, signal.SIGKILL)
    if when == "before":
        os.waitid(os.P_PID, beside.process_id, os.WEXITED | os.WNOWAIT)
        beside.begin(sound(1))

    assert (os.getpid(), 100_000) == beside.result()
    beside.begin(sound(2))
    assert (os.getpid(), 200_000) == beside.result()


def test_it_ends_with_its_owner() -> None:
    """Nobody holds it any more: its process is gone."""
    beside = Beside(whose)
    process_id = beside.process_id
    del beside

    with pytest.raises(ProcessLookupError):
        os.kill(process_id, 0)
