"""The client of gpsd against the real gpsd and a receiver of ours: what arrives, and what goes wrong."""

from __future__ import annotations

import itertools
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import gpsd as other
import pytest
from gps_receiver import LAT_DEG, LON_DEG, Receiver, free_port

from logger.core.utc import parse_utc_ns
from logger.model import LiveFix, Reception, ReceptionChange
from logger.receivers.gpsd import Gpsd, GpsdAddress, parse_address

LIMIT_S = 15.0


class Watch:
    """Gathers the events of a client in a thread of its own."""

    def __init__(self, port: int) -> None:
        self.gpsd = Gpsd(GpsdAddress("127.0.0.1", port))
        self.events: list[LiveFix | ReceptionChange] = []
        self.stop = threading.Event()
        self.thread = threading.Thread(target=self._gather, daemon=True)

    def _gather(self) -> None:
        for event in self.gpsd.events(self.stop):
            self.events.append(event)

    @property
    def fixes(self) -> list[LiveFix]:
        """The fixes so far."""
        return [event for event in self.events if isinstance(event, LiveFix)]

    @property
    def states(self) -> list[Reception]:
        """The changes so far."""
        return [event.reception for event in self.events if isinstance(event, ReceptionChange)]

    @property
    def details(self) -> list[str]:
        """What was said with each change."""
        return [event.detail for event in self.events if isinstance(event, ReceptionChange)]

    def until(self, done: Callable[[], bool], limit_s: float = LIMIT_S) -> float:
        """Wait for something and return how long it took."""
        began_s = time.monotonic()
        while not done():
            assert time.monotonic() - began_s < limit_s, self.events
            time.sleep(0.02)
        return time.monotonic() - began_s


@contextmanager
def watching(port: int) -> Iterator[Watch]:
    """A client that watches, and has ended afterwards."""
    watch = Watch(port)
    watch.thread.start()
    try:
        yield watch
    finally:
        watch.stop.set()
        watch.thread.join(5)
        assert not watch.thread.is_alive()


def test_fixes_arrive_with_all_that_gpsd_says() -> None:
    """Place, speed, altitude, HDOP and error estimates; each instant once; the arrival on both clocks."""
    with Receiver(3) as receiver, watching(receiver.port) as watch:
        watch.until(lambda: len(watch.fixes) >= 4)
        fixes, now_mono_ns, now_utc_ns = watch.fixes[1:4], time.monotonic_ns(), time.time_ns()

        assert watch.gpsd.release is not None
        assert watch.gpsd.release.startswith("3.")
        assert (receiver.path,) == watch.gpsd.devices
    for each in fixes:
        fix = each.fix
        assert pytest.approx((LAT_DEG, LON_DEG), abs=1e-6) == (fix.lat_deg, fix.lon_deg)
        assert (pytest.approx(11.5), 3) == (fix.altitude_m, each.mode)
        assert pytest.approx(48.60 * 1852 / 3600, abs=0.01) == fix.speed_mps  # knots
        assert fix.hdop == 0.9
        assert each.eph_m is not None
        assert each.epx_m is not None
        assert each.epy_m is not None
        assert 5 < each.eph_m < 30
        assert 0 <= now_mono_ns - each.arrived_mono_ns < 20e9
        # Both clocks were read at one moment.
        assert abs((now_utc_ns - each.arrived_utc_ns) - (now_mono_ns - each.arrived_mono_ns)) < 5e6
        # The burst is written at its instant, and passes gpsd in a moment.
        assert 0 <= each.arrived_utc_ns - fix.utc_ns < 0.2e9
    times = [each.fix.utc_ns for each in watch.fixes]
    assert times == sorted(set(times))
    assert watch.gpsd.malformed == 0
    assert [Reception.SILENT, Reception.FIX_3D] == watch.states[-2:]


def test_another_client_is_told_the_same() -> None:
    """gpsd-py3 0.3.0, which asks gpsd for its current fix: the instants it gets are ours, and so is all that is at them."""
    with Receiver(3, moving=True) as receiver, watching(receiver.port) as watch:
        watch.until(lambda: len(watch.fixes) >= 2)
        other.connect("127.0.0.1", receiver.port)
        asked = []
        try:
            for _ in range(4):
                time.sleep(0.8)
                asked.append(other.get_current())
        finally:
            other.gpsd_stream.close()
            other.gpsd_socket.close()
        watch.until(lambda: watch.fixes[-1].fix.utc_ns > parse_utc_ns(asked[-1].time))
    ours = {each.fix.utc_ns: each for each in watch.fixes}

    assert len({each.time for each in asked}) >= 3
    for theirs in asked:
        each = ours[parse_utc_ns(theirs.time)]
        assert (theirs.mode, *theirs.position()) == (each.mode, each.fix.lat_deg, each.fix.lon_deg)
        assert (theirs.hspeed, theirs.alt) == (
            each.fix.speed_mps,
            pytest.approx(each.fix.altitude_m, abs=0.05),
        )
        assert (theirs.error["x"], theirs.error["y"]) == (each.epx_m, each.epy_m)


def test_no_fix_then_two_dimensions_then_three() -> None:
    """Each change is told once; without altitude there is none, not 0 m; without a fix there is no position."""
    with Receiver(1) as receiver, watching(receiver.port) as watch:
        watch.until(lambda: Reception.NO_FIX in watch.states)
        time.sleep(1.2)
        assert [] == watch.fixes
        receiver.mode = 2
        watch.until(lambda: len(watch.fixes) >= 2)
        assert Reception.FIX_2D == watch.states[-1]
        assert (2, None) == (watch.fixes[-1].mode, watch.fixes[-1].fix.altitude_m)
        receiver.mode = 3
        watch.until(lambda: watch.states[-1] is Reception.FIX_3D)

        assert [Reception.NO_FIX, Reception.FIX_2D, Reception.FIX_3D] == watch.states[-3:]


def test_a_silent_receiver_is_told_and_comes_back() -> None:
    """It stops in the middle of the drive: told after three seconds, with its name; it is followed when it goes on."""
    with Receiver(3) as receiver, watching(receiver.port) as watch:
        watch.until(lambda: len(watch.fixes) >= 1)
        receiver.mode = 0
        took_s = watch.until(lambda: watch.states[-1] is Reception.SILENT)
        count = len(watch.fixes)

        assert 2.0 < took_s < 5.5
        assert f"{receiver.path} has reported nothing for 3 s" == watch.details[-1]
        receiver.mode = 3
        watch.until(lambda: len(watch.fixes) > count)
        assert Reception.FIX_3D == watch.states[-1]


def test_gpsd_is_not_there_then_there_then_killed_then_back() -> None:
    """Nobody answers: told once. It is found when it starts, lost when it is killed, and found again."""
    with Receiver(3) as receiver:
        receiver.kill()
        with watching(receiver.port) as watch:
            watch.until(lambda: bool(watch.states))
            time.sleep(1.5)
            assert [Reception.UNREACHABLE] == watch.states
            assert f"nobody answers at 127.0.0.1:{receiver.port} (Connection refused)" == watch.details[0]
            receiver.start()
            watch.until(lambda: len(watch.fixes) >= 2)
            receiver.kill()
            assert watch.until(lambda: watch.states[-1] is Reception.UNREACHABLE) < 2.0
            count = len(watch.fixes)
            receiver.start()
            watch.until(lambda: len(watch.fixes) > count + 1)

            assert [Reception.SILENT, Reception.FIX_3D] == watch.states[-2:]
            assert 2 == watch.states.count(Reception.UNREACHABLE)


def test_gpsd_without_a_receiver() -> None:
    """Gpsd runs and has no device: that is what is said, and not that it is unreachable."""
    with Receiver(device=False) as receiver, watching(receiver.port) as watch:
        watch.until(lambda: bool(watch.states))
        time.sleep(3)

        assert [Reception.NO_DEVICE] == watch.states
        assert ["gpsd has no receiver"] == watch.details


def test_a_gpsd_that_hangs_is_left_and_found_again() -> None:
    """Stopped in its tracks: silent after 3 s, unreachable after some more; it is followed again when it goes on."""
    with Receiver(3) as receiver, watching(receiver.port) as watch:
        watch.until(lambda: len(watch.fixes) >= 1)
        receiver.freeze()
        try:
            watch.until(lambda: watch.states[-1] is Reception.UNREACHABLE)
            assert [Reception.SILENT, Reception.UNREACHABLE] == watch.states[-2:]
            assert watch.details[-1].endswith("does not answer any more")
        finally:
            receiver.thaw()
        count = len(watch.fixes)
        watch.until(lambda: len(watch.fixes) > count + 1)


def test_another_server_is_not_taken_for_gpsd() -> None:
    """Something answers that is no gpsd, with lines of no sense: counted, told, and no exception."""
    with socket.create_server(("127.0.0.1", 0)) as server:

        def answer() -> None:
            connection, _ = server.accept()
            with connection:
                connection.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n[1]\n{\n")
                time.sleep(5)

        threading.Thread(target=answer, daemon=True).start()
        port = server.getsockname()[1]
        with watching(port) as watch:
            watch.until(lambda: bool(watch.states))

            assert [Reception.UNREACHABLE] == watch.states
            assert f"what answers at 127.0.0.1:{port} is not gpsd, or it hangs" == watch.details[0]
            assert 3 == watch.gpsd.malformed


def test_a_port_without_anybody_ends_quickly() -> None:
    """Stopping does not wait for the back-off."""
    with watching(free_port()) as watch:
        watch.until(lambda: bool(watch.states))
        began_s = time.monotonic()
    assert time.monotonic() - began_s < 1.0


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("localhost:2947", ("localhost", 2947)),
        ("dash", ("dash", 2947)),
        (":2948", ("localhost", 2948)),
        ("10.0.0.7:65535", ("10.0.0.7", 65535)),
        ("[::1]", ("::1", 2947)),
        ("[fe80::2]:3000", ("fe80::2", 3000)),
        ("::1", ("::1", 2947)),
    ],
)
def test_addresses(text: str, expected: tuple[str, int]) -> None:
    """What may be written for where gpsd listens."""
    address = parse_address(text)

    assert expected == (address.host, address.port)
    assert address == parse_address(str(address))


@pytest.mark.parametrize(
    "text",
    ["", " ", "dash:", "dash:0", "dash:65536", "dash:x", "[::1", "[::1]x", "tcp://a:1", "a b", "dash:²"],
)
def test_what_is_no_address(text: str) -> None:
    """Refused, with an example of one."""
    with pytest.raises(ValueError, match="localhost:2947"):
        parse_address(text)


def test_the_kit_gives_each_instant_once() -> None:
    """What the tests above rest on: the bursts differ, and differ by about a second."""
    from datetime import UTC, datetime

    from gps_receiver import burst

    moments = [datetime(2026, 5, 3, 9, 0, second, tzinfo=UTC) for second in range(3)]
    bursts = [burst(moment, mode) for moment, mode in itertools.product(moments, (1, 2, 3))]
    assert len(set(bursts)) == 9
