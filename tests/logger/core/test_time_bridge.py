"""From the monotonic clock to the satellites' time, whatever either of the other clocks does."""

from __future__ import annotations

from logger.core.time_bridge import BridgeChange, TimeBridge
from logger.model import Fix, LiveFix

S = 1_000_000_000
BOOT_UTC = 1_900_000_000 * S
"""The true UTC when the monotonic clock was 0."""


def fix(mono_s: float, *, late_ms: float = 0.0, off_s: float = 0.0) -> LiveFix:
    """A fix of an instant, arriving late, from a receiver whose time is off."""
    mono_ns = round(mono_s * S)
    report = Fix(BOOT_UTC + mono_ns + round(off_s * S), 52.2, 1.7)
    arrived = mono_ns + round(late_ms * 1e6)
    return LiveFix(report, 3, None, None, None, arrived, 0)


def fed(
    bridge: TimeBridge, first_s: int, count: int, *, late_ms: float = 0.0, off_s: float = 0.0
) -> list[BridgeChange]:
    """Give a fix each second; return what changed."""
    changes = [bridge.hear(fix(at, late_ms=late_ms, off_s=off_s)) for at in range(first_s, first_s + count)]
    return [change for change in changes if change is not None]


def error_ms(bridge: TimeBridge, mono_s: float) -> float:
    """How far it is from the truth at a moment."""
    return (bridge.utc_ns(round(mono_s * S)) - BOOT_UTC - round(mono_s * S)) / 1e6


def test_the_machines_clock_stands_in_until_three_fixes_agree() -> None:
    """A machine 40 s ahead: so are words, until the third fix; then they are on GPS time, and the step is told once."""
    bridge = TimeBridge(5 * S, BOOT_UTC + 45 * S)

    assert (40_000.0, False) == (error_ms(bridge, 6), bridge.by_fixes)
    assert [] == fed(bridge, 6, 2)
    assert [BridgeChange(-40 * S, by_fixes=False)] == fed(bridge, 8, 1)
    assert (0.0, True) == (error_ms(bridge, 9), bridge.by_fixes)


def test_late_reports_and_their_known_delay() -> None:
    """Reports that scatter between 0 and 90 ms late shift time by their median; a constant delay that is known by nothing."""
    scattered = TimeBridge(0, 0)
    for second in range(120):
        scattered.hear(fix(second, late_ms=(second * 37) % 91))
    known = TimeBridge(0, 0, delay_ns=180_000_000)
    fed(known, 0, 60, late_ms=180)

    assert -60 < error_ms(scattered, 120) < -30
    assert abs(error_ms(known, 60)) < 1e-3


def test_one_wild_time_moves_nothing() -> None:
    """A single report from another year, and one that came 3 s late."""
    bridge = TimeBridge(0, BOOT_UTC)
    fed(bridge, 0, 20)

    assert bridge.hear(fix(20, off_s=-619_315_200)) is None  # 1024 weeks
    assert bridge.hear(fix(21, late_ms=3000)) is None
    assert [] == fed(bridge, 22, 5)
    assert 0.0 == error_ms(bridge, 27)


def test_a_jump_forward_counts_when_it_has_lasted() -> None:
    """A leap second learned late: adopted with the eighth report, told once, and what was stamped is what it was."""
    bridge = TimeBridge(0, BOOT_UTC)
    fed(bridge, 0, 30)
    stamped = bridge.stamp(29 * S)

    assert [] == fed(bridge, 30, 7, off_s=1)
    assert [BridgeChange(S, by_fixes=True)] == fed(bridge, 37, 1, off_s=1)
    assert 1000.0 == error_ms(bridge, 38)
    assert BOOT_UTC + 29 * S == stamped


def test_time_never_turns_back_behind_what_was_said() -> None:
    """A receiver that goes back 20 s is followed only when 20 s have passed since the newest word."""
    bridge = TimeBridge(0, BOOT_UTC)
    fed(bridge, 0, 30)
    said = bridge.stamp(30 * S)

    assert [] == fed(bridge, 31, 18, off_s=-20)
    assert bridge.utc_ns(49 * S) >= said
    changes = fed(bridge, 49, 4, off_s=-20)
    assert [BridgeChange(-20 * S, by_fixes=True)] == changes
    assert bridge.utc_ns(53 * S) >= said


def test_setting_the_machines_clock_moves_nothing() -> None:
    """The wall clock is not looked at after the start: fixes whose arrival it stamps an hour off change nothing."""
    bridge = TimeBridge(0, BOOT_UTC)
    fed(bridge, 0, 10)
    before = bridge.utc_ns(20 * S)
    for second in range(10, 20):
        live = fix(second)
        bridge.hear(LiveFix(live.fix, 3, None, None, None, live.arrived_mono_ns, 3600 * S))

    assert before == bridge.utc_ns(20 * S)
