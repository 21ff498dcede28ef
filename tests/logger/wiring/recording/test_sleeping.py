"""Sleep is what the boot-time clock counts and the monotonic one does not."""

from __future__ import annotations

import time

import pytest

from logger.wiring.recording.sleeping import Sleep


def test_sleep_is_told_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Time that passes awake is none, nor is what rounding makes; an hour asleep is told the next time it is asked."""
    now_s = {time.CLOCK_BOOTTIME: 5000.0, time.CLOCK_MONOTONIC: 4000.0}
    monkeypatch.setattr(time, "clock_gettime", now_s.__getitem__)
    sleep = Sleep()
    for clock in now_s:
        now_s[clock] += 600.0
    now_s[time.CLOCK_BOOTTIME] += 0.4
    assert 0.0 == sleep.slept_s()

    now_s[time.CLOCK_BOOTTIME] += 3600.0
    assert 3600.4 == pytest.approx(sleep.slept_s())
    assert 0.0 == sleep.slept_s()


def test_a_system_without_such_a_clock_never_sleeps(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is Linux that has it."""
    monkeypatch.delattr(time, "CLOCK_BOOTTIME")

    assert 0.0 == Sleep().slept_s()
