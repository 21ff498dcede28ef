"""What a receiver's reports come to: stored in order, and a line where something is odd."""

from __future__ import annotations

from pathlib import Path

from logger.core.time_bridge import TimeBridge
from logger.model import Drive, Fix, LiveFix, Reception, ReceptionChange
from logger.store import DriveStore
from logger.wiring.recording.positions import Positions

S = 1_000_000_000
UTC = 1_900_000_000 * S


def live(mono_s: int, *, off_s: float = 0.0, north_m: float = 0.0) -> LiveFix:
    """A fix a second, at 25 m/s to the north, and what is wrong with it."""
    lat_deg = 52.2 + (25 * mono_s + north_m) / 111_250
    return LiveFix(Fix(UTC + round((mono_s + off_s) * S), lat_deg, 1.7), 3, None, None, None, mono_s * S, 0)


def told(positions: Positions, *fixes: LiveFix) -> list[str]:
    """The codes of what is odd about some fixes."""
    return [issue.code for fix in fixes for issue in positions.take(fix)]


def test_a_steady_receiver_is_nothing_to_tell() -> None:
    """Sixty fixes by a machine whose clock is right."""
    positions = Positions("here", TimeBridge(0, UTC))

    assert [] == told(positions, *map(live, range(60)))
    assert 1400 < positions.track.distance_m < 1500


def test_each_oddity_is_told_once() -> None:
    """A machine's clock 40 s off; a leap to another place and back; time that goes back an hour."""
    positions = Positions("here", TimeBridge(0, UTC + 40 * S))
    positions.stamp(0)

    assert ["live_clock_off"] == told(positions, *map(live, range(50)))
    assert ["live_leap", "live_leap"] == told(positions, live(50, north_m=5000), *map(live, range(51, 60)))
    assert ["live_time_back"] == told(positions, *(live(at, off_s=-3600) for at in range(60, 70)))


def test_a_machines_clock_that_is_ahead_waits_for_time_to_catch_up() -> None:
    """What was said already keeps its place in the order of the drive: the satellites' time counts from 40 s after it."""
    positions = Positions("here", TimeBridge(0, UTC + 40 * S))
    said = positions.stamp(S)

    assert [] == told(positions, *map(live, range(2, 40)))
    assert positions.bridge.utc_ns(40 * S) > said
    assert ["live_clock_off"] == told(positions, *map(live, range(40, 50)))
    assert UTC + 50 * S == positions.bridge.utc_ns(50 * S)


def test_reception() -> None:
    """Lost is an issue once, whatever follows; found again is none."""
    positions = Positions("here", TimeBridge(0, UTC))
    changes = [Reception.FIX_3D, Reception.NO_FIX, Reception.SILENT, Reception.FIX_2D, Reception.UNREACHABLE]
    issues = [positions.change(ReceptionChange(each, "so it is", 3 * S)) for each in changes]

    assert [False, True, False, False, True] == [issue is not None for issue in issues]
    assert issues[1] is not None
    assert "no position from 2030-03-17T17:46:43.000Z on: so it is" == issues[1].message
    assert Reception.UNREACHABLE is positions.reception


def test_fixes_are_stored_as_they_came(tmp_path: Path) -> None:
    """In portions, in one track, whatever their times; a second run is a second track."""
    with DriveStore.create(tmp_path / "drive", Drive(UTC, "")) as store:
        for run in range(2):
            positions = Positions("here", TimeBridge(run, UTC))
            for at in (1, 2):
                positions.take(live(at + 10 * run))
                positions.take(live(at + 10 * run, off_s=-100))
                positions.store(store)
                positions.store(store)
        times = [(fix.utc_ns - UTC) // S for fix in store.fixes()]

    assert [1, -99, 2, -98, 11, -89, 12, -88] == times
