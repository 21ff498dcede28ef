"""Judging what came from gpsd in some seconds: the receiver, its fix, and this machine's clock beside it. Pure."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from logger.core.clock_offset import clock_offset
from logger.core.fitness.findings import Check, Figure, Finding, State, untried
from logger.model import LiveFix, Reception

UNSURE_M = 40.0
"""gpsd's estimate at 95 % where the receiver makes none is 19 m for each unit of HDOP (measured with 3.22), so a good sky
gives 17 m and this is an HDOP above 2."""
CLOCK_OFF_S = 2.0
"""More than a receiver's delay and a leap second that it does not know of yet."""

_TODO = {
    Reception.UNREACHABLE: "start it (sudo systemctl start gpsd), or name another one with --gpsd",
    Reception.NO_DEVICE: "plug the receiver in; if it is, tell gpsd of it (sudo gpsdctl add /dev/ttyACM0, or its name)",
    Reception.SILENT: "see that the receiver is on and plugged in (cgps shows what comes), then check again",
}


@dataclass(frozen=True, slots=True)
class Received:
    """What was received in a while."""

    address: str
    release: str | None
    devices: tuple[str, ...]
    reception: Reception | None
    """The last that could be said; None where gpsd said nothing yet."""
    detail: str
    fixes: tuple[LiveFix, ...]
    malformed: int


def judge_reception(received: Received) -> tuple[Finding, Finding, Finding]:
    """Judge the receiver, its fix, and the clock."""
    gpsd = _gpsd(received)
    if gpsd.state is State.FAILED:
        return gpsd, untried(Check.FIX, Check.GPSD), untried(Check.CLOCK, Check.GPSD)
    fix = _fix(received)
    clock = _clock(received.fixes) if received.fixes else untried(Check.CLOCK, Check.FIX)
    return gpsd, fix, clock


def _gpsd(received: Received) -> Finding:
    figures: dict[str, Figure] = {
        "address": received.address,
        "release": received.release,
        "devices": len(received.devices),
        "malformed_lines": received.malformed,
    }
    reception = received.reception
    if reception is None:
        what = f"gpsd at {received.address} says nothing"
        return Finding(Check.GPSD, State.FAILED, what, _TODO[Reception.UNREACHABLE], figures)
    if reception in _TODO:
        return Finding(Check.GPSD, State.FAILED, received.detail, _TODO[reception], figures)
    what = f"gpsd {received.release} at {received.address}, receiver {', '.join(received.devices)}"
    if received.malformed:
        what += f"; {received.malformed} lines of it could not be read"
        return Finding(Check.GPSD, State.WARNING, what, "update gpsd if it goes on", figures)
    return Finding(Check.GPSD, State.OK, what, "", figures)


def _fix(received: Received) -> Finding:
    fixes = received.fixes
    figures: dict[str, Figure] = {
        "fixes": len(fixes),
        "mode": fixes[-1].mode if fixes else None,
        "eph_m": _median(fixes, "eph_m"),
        "epx_m": _median(fixes, "epx_m"),
        "epy_m": _median(fixes, "epy_m"),
        "hdop": next((each.fix.hdop for each in reversed(fixes) if each.fix.hdop is not None), None),
    }
    if received.reception is Reception.NO_FIX or not fixes:
        todo = "wait under open sky, where a cold receiver takes some minutes, and check again"
        return Finding(Check.FIX, State.FAILED, "the receiver does not know yet where it is", todo, figures)
    eph_m = figures["eph_m"]
    accuracy = "" if eph_m is None else f", within {eph_m:.0f} m (95 %)"
    if figures["hdop"] is not None:
        accuracy += f", HDOP {figures['hdop']}"
    todo = "give the receiver a clear view of the sky, and wait a minute"
    if received.reception is Reception.FIX_2D:
        what = f"a fix without altitude (2D){accuracy}: too few satellites"
        return Finding(Check.FIX, State.WARNING, what, todo, figures)
    if isinstance(eph_m, float) and eph_m > UNSURE_M:
        return Finding(Check.FIX, State.WARNING, f"a fix with altitude (3D){accuracy}: unsure", todo, figures)
    return Finding(Check.FIX, State.OK, f"a fix with altitude (3D){accuracy}", "", figures)


def _clock(fixes: Sequence[LiveFix]) -> Finding:
    offset = clock_offset(fixes)
    assert offset is not None
    figures: dict[str, Figure] = {
        "ahead_s": round(offset.mean_s, 3),
        "spread_s": round(offset.spread_s, 3),
        "fixes": offset.count,
    }
    side = "ahead of" if offset.mean_s >= 0 else "behind"
    what = (
        f"this machine's clock is {abs(offset.mean_s):.2f} s {side} GPS time as it arrives "
        f"(spread {offset.spread_s:.3f} s over {offset.count} fixes)"
    )
    if abs(offset.mean_s) <= CLOCK_OFF_S:
        return Finding(Check.CLOCK, State.OK, what, "", figures)
    todo = "set it (sudo timedatectl set-ntp true); the log goes by GPS time, other files will not"
    return Finding(Check.CLOCK, State.WARNING, what, todo, figures)


def _median(fixes: Sequence[LiveFix], name: str) -> float | None:
    known = [value for each in fixes if (value := getattr(each, name)) is not None]
    return round(statistics.median(known), 1) if known else None
