"""The recogniser in its own process: the same answers, and nobody waits for it."""

from __future__ import annotations

import os
import signal
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from live_drive import spoken
from processes import descendants, is_running

from grammar import Language, Phrasebook
from logger.errors import RecogniserError
from logger.model import RATE_HZ
from logger.wiring.choosing import choose, choose_from
from logger.wiring.recording.apart import Apart, RecogniserApart

CALL = spoken([(0.4, "checkpoint sixty three percent, ninety seven point two miles")], 5.0)


def test_the_same_answers_while_others_go_on() -> None:
    """It hears what the recogniser hears in this process; a thread beside it is not held up; killed, it comes back."""
    here = choose("pocketsphinx", None, Language(Phrasebook())).recogniser
    gaps_s: list[float] = []
    stop = threading.Event()

    def tick() -> None:
        last_s = time.monotonic()
        while not stop.wait(0.002):
            gaps_s.append(time.monotonic() - last_s)
            last_s = time.monotonic()

    with closing(RecogniserApart("pocketsphinx", None, "")) as apart:
        ticking = threading.Thread(target=tick)
        ticking.start()
        first = apart.recognise(CALL)
        stop.set()
        ticking.join()
        assert () == apart.recognise(np.zeros(RATE_HZ, np.int16))
        os.kill(apart.process_id, signal.SIGINT)  # as the terminal does
        os.kill(apart.process_id, signal.SIGKILL)
        second = apart.recognise(CALL)
        assert here.name == apart.name

    assert here.recognise(CALL) == first == second
    assert max(gaps_s) < 0.2


def test_two_together() -> None:
    """Each in its own process they are chosen and answer as in this one, also when two threads ask at once."""
    here = choose("both", None, Language(Phrasebook()))
    with Apart("") as apart:
        chosen = choose_from("both", None, apart.open)
        assert (here.recogniser.name, here.quicker.name) == (chosen.recogniser.name, chosen.quicker.name)
        with ThreadPoolExecutor(2) as threads:
            quickly, for_good = threads.map(
                lambda one: one.recognise(CALL), (chosen.quicker, chosen.recogniser)
            )
        assert for_good == chosen.confirmed(CALL, quickly)

    assert here.quicker.recognise(CALL) == quickly
    assert here.recogniser.recognise(CALL) == for_good != quickly


def test_what_cannot_be_used(tmp_path: Path) -> None:
    """The error of the other process is raised here, in one line."""
    with pytest.raises(RecogniserError, match=str(tmp_path)):
        RecogniserApart("vosk", tmp_path, "")


def test_it_ends_with_the_one_who_asks() -> None:
    """Closed, its process is gone, and the second one that PocketSphinx has where there are two cores."""
    apart = RecogniserApart("pocketsphinx", None, "")
    second = descendants(apart.process_id)
    assert min(1, len(os.sched_getaffinity(0)) - 1) == len(second)
    apart.close()

    for process_id in (apart.process_id, *second):
        until_s = time.monotonic() + 5
        while is_running(process_id) and time.monotonic() < until_s:
            time.sleep(0.01)
        assert not is_running(process_id)
