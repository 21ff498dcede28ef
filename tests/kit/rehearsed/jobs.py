"""A list of pieces of work done by several processes, each piece's result kept on disk when it is done."""

from __future__ import annotations

import json
import multiprocessing
import os
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any


def done_before(kept: Path) -> dict[str, Any]:
    """Return the results that are on disk, by the piece's key; a line that was not written whole is left out."""
    found: dict[str, Any] = {}
    if kept.exists():
        for line in kept.read_text(encoding="utf-8").splitlines():
            try:
                piece = json.loads(line)
            except ValueError:
                continue
            found[piece["key"]] = piece["result"]
    return found


def do_all(
    work: Callable[[Any], Any],
    pieces: Sequence[tuple[str, Any]],
    kept: Path,
    processes: int,
    progress_every: int = 1,
) -> dict[str, Any]:
    """Do the pieces (key, argument) that are not done yet, in order, and return all results on disk.

    `work` must give what JSON can hold. Progress goes to stderr after each `progress_every` pieces.
    """
    found = done_before(kept)
    left = [(work, key, argument) for key, argument in pieces if key not in found]
    if not left:
        return found
    kept.parent.mkdir(parents=True, exist_ok=True)
    began = time.monotonic()
    # Fresh processes: what Vosk has in memory does not stand a fork.
    context = multiprocessing.get_context("spawn")
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    with context.Pool(processes) as pool, kept.open("a", encoding="utf-8") as file:
        for number, (key, result) in enumerate(pool.imap_unordered(_do, left), start=1):
            file.write(json.dumps({"key": key, "result": result}, separators=(",", ":")) + "\n")
            file.flush()
            found[key] = result
            took_s = time.monotonic() - began
            if number % progress_every and number < len(left):
                continue
            print(
                f"{kept.name}: {number} of {len(left)} done ({key}), {took_s:.0f} s, "
                f"{took_s / number * (len(left) - number):.0f} s to go",
                file=sys.stderr,
                flush=True,
            )
    return found


def _do(piece: tuple[Callable[[Any], Any], str, Any]) -> tuple[str, Any]:
    work, key, argument = piece
    return key, work(argument)
