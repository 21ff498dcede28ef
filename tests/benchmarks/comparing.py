"""How long comparing many drives takes, the first time and again: run as a program."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from pathlib import Path

from many_drives import WHOLE_ENTRIES, WHOLE_FIXES, make_drives

from logger.store.kept_results import KEPT_NAME

LIMIT_S = 20.0
TEST = 'class = "medium"\n'
"""With the car told, every figure is worked out: what takes longest is the range at reference conditions."""


def main() -> None:
    """Make the drives where they are not there yet, and compare them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drives", type=int, default=300)
    parser.add_argument("--folder", type=Path, default=Path("build/compared-drives"))
    asked = parser.parse_args()
    there = len(list(asked.folder.glob("loop-*")))
    if there < asked.drives:
        print(f"making {asked.drives - there} drives in {asked.folder}", file=sys.stderr)
        make_drives(asked.folder, asked.drives - there, first=there, test=TEST)
    drives = sorted(asked.folder.glob("loop-*"))[: asked.drives]
    print(
        f"{len(drives)} drives, {WHOLE_FIXES:,} fixes and {WHOLE_ENTRIES} entries each; {os.cpu_count()} processors, "
        f"load {os.getloadavg()[0]:.1f}"
    )
    for drive in drives:
        (drive / KEPT_NAME).unlink(missing_ok=True)
    for which in ("the first time", "again, with what was kept"):
        for form in ("csv", "html"):
            if which == "the first time" and form == "html":
                continue
            began = time.monotonic()
            before = os.times()
            done = subprocess.run(
                [sys.executable, "-m", "logger", "compare", *map(str, drives), "--format", form, "-o", str(asked.folder / f"compared.{form}")],
                check=False,
            )  # fmt: skip
            spent = os.times()
            computed = (
                spent.children_user + spent.children_system - before.children_user - before.children_system
            )
            print(
                f"{which}, {form}: {time.monotonic() - began:.1f} s (limit {LIMIT_S:g} s), {computed:.1f} s of processor time, exit code {done.returncode}"
            )


if __name__ == "__main__":
    main()
