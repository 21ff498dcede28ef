"""How fast `odovox ingest` is, and how much memory it takes, for a short and a long recording.

    PYTHONPATH=.:tests/kit python tests/benchmarks/ingesting.py [FOLDER]

Makes recordings of 10 and 60 minutes with two calls a minute (voices for tuning, cabin noise at 15 dB between 300 and
3400 Hz) and takes each in by a process of its own with the default recogniser. Wanted: less than 5 % of the
recording's length, and memory that does not grow with it.
"""

from __future__ import annotations

import re
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import short_drives
import simulated_drives
from command_line import command, environment
from speechkit.calls import calls
from speechkit.drive import DriveItem, render
from speechkit.voices import voice

_VOICES = ("flite-kal16", "festival-kal")


def make(folder: Path, minutes: int) -> tuple[Path, Path]:
    """Make a recording and its track."""
    sound, track = folder / f"{minutes}.flac", folder / f"{minutes}.gpx"
    said = calls(2 * minutes - 1, 7, "metric")
    items = [DriveItem(10 + 30.0 * n, each, voice(_VOICES[n % 2])) for n, each in enumerate(said)]
    render(sound, items, 60.0 * minutes, 15.0, seed=3)
    fixes, _ = simulated_drives.drive(
        simulated_drives.constant(25.0), 60 * minutes + 1, simulated_drives.Noise(speed_mps=0.05)
    )
    track.write_text(short_drives.gpx(fixes), encoding="utf-8")
    return sound, track


def measure(folder: Path, minutes: int) -> tuple[float, float, float]:
    """Return wall seconds, processor seconds and the most memory in MB that an ingest took."""
    sound, track = make(folder, minutes)
    arguments = ("--track", track, "--started", short_drives.STARTED, "--out", folder / f"{minutes}")
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    began = time.monotonic()
    memory_kb = 0
    with subprocess.Popen(
        command("ingest", sound, *arguments), env=environment(folder), stderr=subprocess.DEVNULL
    ) as process:
        while process.poll() is None:
            memory_kb = max(memory_kb, _most_memory_kb(process.pid))
            time.sleep(0.1)
    wall_s = time.monotonic() - began
    assert process.returncode in {0, 1}
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    busy_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return wall_s, busy_s, memory_kb / 1024


def _most_memory_kb(process_id: int) -> int:
    """Return the most memory a process has held; the system's own account of children would count the parent's too."""
    status = Path(f"/proc/{process_id}/status").read_text(encoding="ascii")
    found = re.search(r"VmHWM:\s+(\d+) kB", status)
    return int(found[1]) if found else 0


def main() -> None:
    """Print the table."""
    print("| minutes | wall s | processor s | share of real time | memory MB |\n|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(scratch)
        for minutes in (10, 60):
            wall_s, busy_s, memory_mb = measure(folder, minutes)
            print(
                f"| {minutes} | {wall_s:.1f} | {busy_s:.1f} | {wall_s / (60 * minutes):.2%} | {memory_mb:.0f} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
