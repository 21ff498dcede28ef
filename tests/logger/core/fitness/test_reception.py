"""What is said of the receiver, its fix and the clock."""

from __future__ import annotations

import pytest

from logger.core.fitness.findings import State
from logger.core.fitness.reception import Received, judge_reception
from logger.model import Fix, LiveFix, Reception

NANO = 1_000_000_000


def fix(second: int, *, mode: int = 3, eph_m: float | None = 17.1, late_s: float = 0.1) -> LiveFix:
    """A fix that came somewhat late."""
    utc_ns = (1_777_800_000 + second) * NANO
    return LiveFix(
        Fix(utc_ns, 52.2, 1.7, hdop=0.9 if eph_m else None),
        mode,
        eph_m,
        None,
        None,
        0,
        utc_ns + round(late_s * NANO),
    )


def received(
    reception: Reception | None, *fixes: LiveFix, malformed: int = 0, detail: str = "so it is"
) -> Received:
    """What a while of watching gave."""
    return Received("localhost:2947", "3.22", ("/dev/ttyACM0",), reception, detail, fixes, malformed)


@pytest.mark.parametrize(
    ("reception", "todo"),
    [
        (None, "systemctl start gpsd"),
        (Reception.UNREACHABLE, "systemctl start gpsd"),
        (Reception.NO_DEVICE, "gpsdctl add"),
        (Reception.SILENT, "cgps"),
    ],
)
def test_no_receiver_no_fix_no_clock(reception: Reception | None, todo: str) -> None:
    """What is wrong with gpsd is told there, and what hangs on it goes untried."""
    gpsd, place, clock = judge_reception(received(reception))

    assert (State.FAILED, State.UNTRIED, State.UNTRIED) == (gpsd.state, place.state, clock.state)
    assert todo in gpsd.todo
    assert gpsd.what in {"so it is", "gpsd at localhost:2947 says nothing"}


def test_all_is_well() -> None:
    """Five fixes: what they are worth in words and figures."""
    gpsd, place, clock = judge_reception(received(Reception.FIX_3D, *(fix(second) for second in range(5))))

    assert {State.OK} == {gpsd.state, place.state, clock.state}
    assert "gpsd 3.22 at localhost:2947, receiver /dev/ttyACM0" == gpsd.what
    assert "a fix with altitude (3D), within 17 m (95 %), HDOP 0.9" == place.what
    assert clock.what == (
        "this machine's clock is 0.10 s ahead of GPS time as it arrives (spread 0.000 s over 5 fixes)"
    )
    assert (0.1, 0.0, 5) == tuple(clock.figures[name] for name in ("ahead_s", "spread_s", "fixes"))


@pytest.mark.parametrize(
    ("told", "states", "says"),
    [
        (received(Reception.NO_FIX), (State.OK, State.FAILED, State.UNTRIED), "does not know yet"),
        # It had one and lost it: what it is worth now is nothing, but the clock was seen.
        (received(Reception.NO_FIX, fix(0)), (State.OK, State.FAILED, State.OK), "does not know yet"),
        (received(Reception.FIX_2D, fix(0, mode=2)), (State.OK, State.WARNING, State.OK), "(2D)"),
        (received(Reception.FIX_3D, fix(0, eph_m=41.0)), (State.OK, State.WARNING, State.OK), "unsure"),
        (received(Reception.FIX_3D, fix(0, eph_m=None)), (State.OK, State.OK, State.OK), "a fix with altitude (3D)"),
        (received(Reception.FIX_3D, fix(0), malformed=3), (State.WARNING, State.OK, State.OK), "(3D)"),
        (received(Reception.FIX_3D, fix(0, late_s=-73)), (State.OK, State.OK, State.WARNING), "(3D)"),
    ],
)  # fmt: skip
def test_less_than_well(told: Received, states: tuple[State, ...], says: str) -> None:
    """Each shortcoming is told where it belongs and nowhere else."""
    findings = judge_reception(told)

    assert states == tuple(finding.state for finding in findings)
    assert says in findings[1].what
    for finding in findings:
        assert (finding.state is State.OK) == (not finding.todo)


def test_a_slow_clock_is_behind() -> None:
    """The sign is in words."""
    clock = judge_reception(received(Reception.FIX_3D, fix(0, late_s=-73), fix(1, late_s=-73)))[2]

    assert "this machine's clock is 73.00 s behind GPS time" in clock.what
    assert "timedatectl" in clock.todo
