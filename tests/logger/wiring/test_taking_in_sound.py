"""Known stretches are cut out of a stream of blocks as they were; the rest of taking in is in test_ingest.py."""

from __future__ import annotations

import numpy as np
import pytest

from logger.model import SoundBlock, Utterance
from logger.wiring.taking_in_sound import KnownStretches, samples_ns

SOUND = np.arange(20_000, dtype=np.int16)


@pytest.mark.parametrize("size", [500, 700, 1000, 4999, 50_000])
def test_known_stretches_come_out_as_they_were(size: int) -> None:
    """Whatever the size of the blocks, each known stretch comes out once, in order, sample for sample."""
    spans = [(17_000, 3000), (0, 800), (800, 1), (5000, 9000)]
    cutter = KnownStretches(
        Utterance(number, 1, first, count, 0, "") for number, (first, count) in enumerate(spans)
    )
    found = []
    for first in range(0, len(SOUND), size):
        found += cutter.feed(SoundBlock(first, SOUND[first : first + size]))
    found += cutter.close()

    assert sorted(spans) == [(each.first_sample, len(each.samples)) for each in found]
    for each in found:
        assert (SOUND[each.first_sample : each.first_sample + len(each.samples)] == each.samples).all()


def test_samples_last_their_share_of_a_second() -> None:
    """16 000 samples are a second, and one is 62.5 microseconds."""
    assert 1_000_000_000 == samples_ns(16_000)
    assert 62_500 == samples_ns(1)
