"""Placing samples by counting: simulated cards with known clocks, late stamps and lost samples."""

from __future__ import annotations

import numpy as np
import pytest

from logger.core.sample_clock import SampleClock

RATE_HZ, BLOCK = 16_000, 800
NANO = 1_000_000_000
MS = 1_000_000


def test_a_late_stamp_moves_nothing() -> None:
    """Stamps off by up to 12 ms, and one by 400 ms: every block after the first second is within 3 ms of the truth."""
    rng = np.random.default_rng(11)
    clock = SampleClock(RATE_HZ, BLOCK)
    for block in range(400):
        true_ns = 5 * NANO + block * BLOCK * NANO // RATE_HZ
        stamp_ns = true_ns + round(rng.uniform(-6, 6) * MS) + (400 * MS if block == 200 else 0)
        placed = clock.place(BLOCK, stamp_ns)

        assert placed.lost_samples == 0
        assert block < 20 or abs(placed.start_ns - true_ns) < 3 * MS


def test_a_card_that_drifts_is_followed() -> None:
    """A card 100 in a million too slow, for an hour: never more than 2 ms off, and nothing is called lost."""
    clock = SampleClock(RATE_HZ, BLOCK)
    true_rate_hz = RATE_HZ * (1 - 100e-6)
    worst_ns = 0
    for block in range(3600 * RATE_HZ // BLOCK):
        true_ns = round(block * BLOCK / true_rate_hz * NANO)
        placed = clock.place(BLOCK, true_ns)
        worst_ns = max(worst_ns, abs(placed.start_ns - true_ns))
        assert placed.lost_samples == 0

    assert worst_ns < 2 * MS


@pytest.mark.parametrize(("told", "blocks_until_seen"), [(True, 1), (False, 4)])
def test_lost_samples_are_seen_and_counted(*, told: bool, blocks_until_seen: int) -> None:
    """Half a second that never came: at once where the device says so, else by the stamps; then placed right again."""
    clock = SampleClock(RATE_HZ, BLOCK)
    lost = []
    for block in range(200):
        gap_ns = NANO // 2 if block >= 100 else 0
        true_ns = block * BLOCK * NANO // RATE_HZ + gap_ns
        placed = clock.place(BLOCK, true_ns, broken=told and block == 100)
        lost.append(placed.lost_samples)
        if not 100 <= block < 99 + blocks_until_seen:
            assert placed.start_ns == true_ns

    assert [RATE_HZ // 2] == [count for count in lost if count]
    assert lost[99 + blocks_until_seen] == RATE_HZ // 2


def test_a_clock_that_was_ahead_is_put_right() -> None:
    """Stamps that step back are no loss, but they are followed."""
    clock = SampleClock(RATE_HZ, BLOCK)
    for block in range(50):
        clock.place(BLOCK, NANO + block * BLOCK * NANO // RATE_HZ)
    for block in range(50, 60):
        placed = clock.place(BLOCK, block * BLOCK * NANO // RATE_HZ)

        assert placed.lost_samples == 0
    assert placed.start_ns == 59 * BLOCK * NANO // RATE_HZ


def test_other_rates() -> None:
    """44 100 Hz in odd blocks: the hundredth begins where it did."""
    clock = SampleClock(44_100, 1023)
    for block in range(101):
        placed = clock.place(1023, 7 * NANO + block * 1023 * NANO // 44_100)

    assert abs(placed.start_ns - (7 * NANO + 100 * 1023 * NANO // 44_100)) <= 2
