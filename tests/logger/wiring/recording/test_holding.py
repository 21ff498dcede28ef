"""What is held while the disk is full: in order, in bounds, and what had to go is told."""

from __future__ import annotations

import numpy as np
from called_drives import answers

from logger.core.live_cut import Cut, Due, HeardCut
from logger.model import RATE_HZ
from logger.wiring.recording.asked import Heard
from logger.wiring.recording.holding import MOST_CALLS, Held
from logger.wiring.recording.keeping import MOST_HELD_S


def heard(number: int, length_s: float, *lines: str) -> Heard:
    """Something heard, which begins at a sample that tells which it is."""
    samples = np.full(round(length_s * RATE_HZ), 7, np.int16)
    return Heard(
        1, HeardCut(Cut(number, samples, 0, Due.WHOLE, number + len(samples)), answers(*lines), "typed")
    )


def taken(held: Held) -> list[Heard]:
    """Take all out."""
    found = []
    while held:
        found.append(held.first())
        held.take_first()
    return found


def memory(each: Heard) -> int:
    """Bytes that a sound really takes."""
    samples = each.what.cut.samples
    return samples.nbytes if samples.strides[0] else 0


def test_the_sound_of_ten_minutes() -> None:
    """Older calls are held without it, talk never has any; lengths stay what they were, and what went is told once."""
    held = Held()
    for number in range(100):
        held.add(heard(number, 10.0, "checkpoint sixty three percent"))
        held.add(heard(number, 20.0))
    missing, told_again, found = held.missing(), held.missing(), taken(held)

    assert [each // 2 for each in range(200)] == [each.what.cut.first_sample for each in found]
    assert {10 * RATE_HZ, 20 * RATE_HZ} == {len(each.what.cut.samples) for each in found}
    kept = [each for each in found if not each.without_sound]
    assert found[-2 * round(MOST_HELD_S / 10) :: 2] == kept
    assert sum(map(memory, found)) == MOST_HELD_S * RATE_HZ * 2
    assert missing == "missing: the sound of 40 others"
    assert told_again == "nothing that was heard is missing"


def test_a_thousand_calls() -> None:
    """Of more, the oldest go; taken out meanwhile, they count no more."""
    held = Held()
    for number in range(MOST_CALLS + 5):
        held.add(heard(number, 0.1, "checkpoint sixty three percent"))
    assert held.first().what.cut.first_sample == 5
    assert held.missing() == "missing: 5 of the oldest calls"

    held.take_first()
    held.add(heard(MOST_CALLS + 5, 0.1, "checkpoint sixty three percent"))
    assert [*range(6, MOST_CALLS + 6)] == [each.what.cut.first_sample for each in taken(held)]
    assert held.missing() == "nothing that was heard is missing"
