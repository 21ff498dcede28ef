"""The drive's folder: may it be written, and is there room?"""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from logger.core.fitness.findings import Check, Finding, State, untried
from logger.core.fitness.storage import judge_disk
from logger.store.connection import has_database

_TRIAL_BYTES = 65_536


def check_storing(out: Path, hours: float) -> Iterator[Finding]:
    """Yield the findings on the folder and its disk. What is tried out is removed again."""
    out = Path(os.path.abspath(out))  # noqa: PTH100  (resolve would follow links, which may be broken)
    place = _nearest(out)
    figures = {"path": str(out)}
    try:
        if not place.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, f"{place} is a file")
        _try_writing(place)
    except OSError as error:
        what = f"{out} cannot be written to ({error.strerror or error})"
        todo = "name a folder that you may write to with --out"
        yield Finding(Check.FOLDER, State.FAILED, what, todo, figures)
        yield untried(Check.DISK, Check.FOLDER)
        return
    if has_database(out):
        what = f"{out} holds a drive already"
        todo = "name a new folder with --out, if this is to be another drive"
        yield Finding(Check.FOLDER, State.WARNING, what, todo, figures)
    else:
        yield Finding(Check.FOLDER, State.OK, f"{out} can be written to", "", figures)
    yield judge_disk(shutil.disk_usage(place).free, hours)


def _nearest(out: Path) -> Path:
    """Return the folder itself, or the nearest one above it that is there."""
    place = out
    while not os.path.lexists(place) and place != place.parent:
        place = place.parent
    return place


def _try_writing(place: Path) -> None:
    """Write something, to the disk itself, and remove it.

    Raises:
        OSError: it cannot be done.
    """
    with tempfile.TemporaryFile(dir=place, prefix=".odovox-check-") as file:
        file.write(bytes(_TRIAL_BYTES))
        file.flush()
        os.fsync(file.fileno())
