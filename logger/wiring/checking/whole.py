"""All checks, one after the other, each whatever the others found; gpsd is watched all the while."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from logger.core.fitness.findings import Finding
from logger.core.fitness.reception import judge_reception
from logger.wiring.checking.asked import Asked, Told
from logger.wiring.checking.listening import Captured, check_listening
from logger.wiring.checking.receiving import Watching
from logger.wiring.checking.recognising import check_recognising
from logger.wiring.checking.storing import check_storing


def check_all(asked: Asked, told: Told) -> Iterator[Finding]:
    """Yield the finding of every check, in the order of `Check`, as soon as it is known."""
    captured = Captured(np.empty(0, np.int16))
    with Watching(asked.gpsd) as watching:
        yield from check_storing(asked.out, asked.hours)
        yield from check_listening(asked, told, captured)
        # After the listening, since loading takes the whole machine for a moment and sound could be lost.
        told.doing("loading the recogniser")
        yield from check_recognising(asked, captured.samples)
        told.doing("watching the receiver")
        received = watching.wait()
    yield from judge_reception(received)
