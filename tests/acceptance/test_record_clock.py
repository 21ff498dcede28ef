"""Clock and time zone change, the receiver is unplugged, without a fix, gpsd hangs, at the end the sound server: one drive."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

from command_line import CommandLine
from gps_receiver import Receiver
from live_drive import Recording, drive_log, monotonic_to_utc_ns, opens, rows, spoken
from other_clock import NEXT_ZONE_S, ZONE_S, OtherClock
from sound_server import Feed, SoundServer

from logger.core.utc import parse_utc_ns

S = 1_000_000_000
QUICK = ("--recogniser", "pocketsphinx")


def test_the_other_clock(tmp_path: Path) -> None:
    """The kit's clock does what the test below relies on: it is set while a program runs, whose monotonic clock goes on."""
    clock = OtherClock(tmp_path)
    script = """
import subprocess, sys, time
here = [sys.executable, "-c", "import time; print(time.localtime().tm_gmtoff)"]
for _ in sys.stdin:
    child = subprocess.run(here, capture_output=True, text=True).stdout.strip()
    print(time.time(), time.monotonic(), time.localtime().tm_gmtoff, child, flush=True)
"""
    with subprocess.Popen(
        [sys.executable, "-c", script],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | clock.environment,
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        for ahead_s in (0, 3600, -90):
            clock.set_off(ahead_s)
            if ahead_s:
                clock.cross_to(NEXT_ZONE_S)
            process.stdin.write("\n")
            process.stdin.flush()
            wall_s, monotonic_s, zone_s, child_zone_s = map(float, process.stdout.readline().split())
            assert abs(wall_s - time.time() - ahead_s) < 0.5
            assert abs(monotonic_s - time.monotonic()) < 0.5
            assert ZONE_S == zone_s  # until it asks anew
            assert child_zone_s == (NEXT_ZONE_S if ahead_s else ZONE_S)
        process.stdin.close()


def test_clock_zone_and_receiver(run: CommandLine, tmp_path: Path) -> None:
    """Words keep their moments on GPS time and their order; each fault of the receiver is one line, and positions come back."""
    folder = tmp_path / "drive"
    clock = OtherClock(tmp_path)
    said: dict[str, float] = {}
    with (
        SoundServer() as server,
        Receiver(3) as receiver,
        Feed(server, spoken([], 1.0)) as feed,
        Recording(folder, server, "--gpsd", receiver.address, *QUICK, extra=clock.environment) as recording,
    ):

        def note(words: str) -> None:
            said[words] = feed.say(spoken([(0.5, f"note {words}")], 3.0)) + 0.5
            recording.wait_for(f"taken: {words}")

        at = recording.wait_for("has a fix")
        recording.wait_for("listening to")
        note("headwind")
        clock.set_off(3600)
        clock.cross_to(NEXT_ZONE_S)
        note("detour")
        clock.set_off(-90)
        receiver.freeze()
        note("stopped")
        at = recording.wait_for(f"gpsd at {receiver.address} does not answer any more", after=at)
        receiver.thaw()
        at = recording.wait_for("has a fix", after=at)
        receiver.unplug()
        at = recording.wait_for("gpsd has no receiver", after=at)
        receiver.plug()
        at = recording.wait_for("has a fix", after=at)
        receiver.mode = 1
        at = recording.wait_for("has no fix yet", after=at)
        receiver.mode = 3
        recording.wait_for("has a fix", after=at)
        server.freeze()
        hangs_s = time.monotonic()
        assert recording.end() in {0, 1}
        assert time.monotonic() - hangs_s < 25.0  # a busy machine settles the drive in some seconds itself
        to_utc_ns = monotonic_to_utc_ns()
    entries = drive_log(run, folder)

    assert list(said) == [row["note"] for row in entries], recording.text
    late_ms = [(parse_utc_ns(row["at"]) - to_utc_ns - said[row["note"]] * S) / 1e6 for row in entries]
    assert all(abs(each) < 150 for each in late_ms), late_ms
    # One line for each, and no more.
    for line in ("gpsd has no receiver", "has no fix yet", "does not answer any more"):
        assert 1 == recording.text.count(line), recording.text
    assert 4 == recording.text.count("no position from "), recording.text  # and before the first one
    assert not [line for _, line in recording.lines if "by the satellites" in line or "jumped" in line], (
        recording.text
    )
    fixes = rows(folder, "SELECT utc_ns FROM fix ORDER BY number")
    assert fixes == sorted(fixes)
    assert all(row["lat_deg"] for row in entries[:2])
    opens(run, folder)
