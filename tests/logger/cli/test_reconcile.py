"""`odovox reconcile`: a line of summary, and the exit code says whether a human is needed."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

from click.testing import Result

from logger.store import DriveStore


def test_it_sums_up(invoke: Callable[..., Result], folder: Path, tmp_path: Path) -> None:
    """Nothing on stdout, one summary on stderr; the code is 1 exactly when an entry is flagged."""
    copy = Path(shutil.copytree(folder, tmp_path / "copy"))

    result = invoke("reconcile", copy)

    with DriveStore.open(copy) as store:
        flagged = any(entry.status == "flagged" for entry in store.entries())
    assert int(flagged) == result.exit_code
    assert "" == result.stdout
    assert f"odovox: {copy}: 3 calls, 5 entries" in result.stderr


def test_nothing_heard_needs_a_human(invoke: Callable[..., Result], folder: Path, tmp_path: Path) -> None:
    """A drive without any call ends with 1."""
    with DriveStore.open(folder, readonly=True) as store:
        drive = store.drive()
    DriveStore.create(tmp_path / "empty", drive).close()

    assert 1 == invoke("reconcile", tmp_path / "empty").exit_code
