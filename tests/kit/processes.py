"""Which processes another one has started, and whether they still run, as Linux tells."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path


def descendants(process_id: int) -> list[int]:
    """The processes that a process has started, and those that these have."""
    children: list[int] = []
    for thread in Path(f"/proc/{process_id}/task").glob("*/children"):
        with suppress(FileNotFoundError, ProcessLookupError):
            children += map(int, thread.read_text().split())
    return [each for child in children for each in (child, *descendants(child))]


def is_running(process_id: int) -> bool:
    """Whether there is such a process, and not only its exit code."""
    try:
        stat = Path(f"/proc/{process_id}/stat").read_text()
    except (FileNotFoundError, ProcessLookupError):
        return False
    return stat.rsplit(")", 1)[1].split()[0] != "Z"
