"""How long `odovox report` takes on a drive of five and a half hours: the whole command, imports and all.

python tests/benchmarks/reporting.py
"""

from __future__ import annotations

import os
import resource
import subprocess
import tempfile
import time
from pathlib import Path

from command_line import command, environment
from reviewed_drives import long_drive

from logger.store import DriveStore
from logger.wiring.reconciling import settle

_TIMES = 5


def main() -> None:
    """Print the times of each form, the middle one of five runs."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        folder = long_drive(place / "drive")
        with DriveStore.open(folder) as store:
            settle(store)
            fixes, entries = len(store.fixes()), len(store.entries())
        print(f"{fixes} fixes, {entries} entries, load {os.getloadavg()[0]:.1f}")
        for options in ((), ("--format", "md"), ("--format", "json"), ("--charts", place / "charts")):
            runs = sorted(
                _run(["report", folder, "-o", place / "report", *options], place) for _ in range(_TIMES)
            )
            wall_s, processor_s = runs[_TIMES // 2]
            print(
                f"{' '.join(map(str, options[:1] + options[1:2])) or 'html':45} {wall_s:5.2f} s, processor {processor_s:5.2f} s"
            )


def _run(arguments: list[str | Path], place: Path) -> tuple[float, float]:
    before, began_s = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    subprocess.run(command(*arguments), env=environment(place), cwd=place, check=False, capture_output=True)
    took_s, after = time.monotonic() - began_s, resource.getrusage(resource.RUSAGE_CHILDREN)
    return took_s, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


if __name__ == "__main__":
    main()
