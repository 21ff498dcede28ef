"""What is compared of stored drives: worked out side by side by several processes, and kept beside each drive.

What was kept counts only while the drive's database is to the byte what it was made from, and the program that made it is this
one: its own source and its numeric library are part of the key.
"""

from __future__ import annotations

import gc
import hashlib
import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from functools import cache
from pathlib import Path

import logger
from logger.core.comparing.kept import from_text, to_text
from logger.core.comparing.summary import Summary, summary_of
from logger.core.comparing.whole import Beside, compared
from logger.errors import OdovoxError
from logger.store.kept_results import content_of, has_kept, keep, read_kept
from logger.wiring.reporting import observed_of
from logger.wiring.several import made_of_each, names_of

_WORTH_PROCESSES = 8
"""Fewer drives to work out are done before other processes have begun."""
_AT_ONCE = 4
_MOST_PROCESSES = 8


def compare(
    folders: Sequence[Path], broken: Callable[[OdovoxError], None], *, kept: bool = True
) -> tuple[Beside, ...]:
    """Return drives compared; one of several that cannot be read goes to `broken` and is left out.

    Args:
        folders: the drive folders.
        broken: is told what is wrong.
        kept: use what was kept beside the drives, and keep what is worked out now.

    Raises:
        OdovoxError: the only drive cannot be read, or none of several.
    """
    names = dict(zip(folders, names_of(folders), strict=True))
    found = _summaries(folders, kept=kept)

    def named(folder: Path) -> tuple[str, Summary]:
        summary = found[folder]
        if isinstance(summary, OdovoxError):
            raise summary
        return names[folder], summary

    return compared(list(made_of_each(folders, named, broken)))


def _summaries(folders: Sequence[Path], *, kept: bool) -> dict[Path, Summary | OdovoxError]:
    found: dict[Path, Summary | OdovoxError] = {}
    for folder in folders:
        summary = _kept(folder) if kept else None
        if summary is not None:
            found[folder] = summary
    missing = [folder for folder in folders if folder not in found]
    return found | dict(zip(missing, _worked_out(missing, kept=kept), strict=True))


def _kept(folder: Path) -> Summary | None:
    try:
        if not has_kept(folder):  # so that no database is read for nothing
            return None
        text = read_kept(folder, _key(folder))
        return None if text is None else from_text(text)
    except (OdovoxError, ValueError, KeyError, TypeError):  # working it out says what is wrong
        return None


def _worked_out(folders: Sequence[Path], *, kept: bool) -> Iterator[Summary | OdovoxError]:
    make = _summary_kept if kept else fresh_summary
    processes = min(os.cpu_count() or 1, _MOST_PROCESSES, len(folders) // _AT_ONCE)
    if len(folders) < _WORTH_PROCESSES or processes < 2:
        yield from map(make, folders)
        return
    # A fork would take this process's threads' locks with it.
    context = multiprocessing.get_context("spawn")
    # No drive makes garbage that only a search would find, and searching takes a tenth of the time.
    with ProcessPoolExecutor(processes, mp_context=context, initializer=gc.disable) as pool:
        yield from pool.map(make, folders, chunksize=_AT_ONCE)


def _summary_kept(folder: Path) -> Summary | OdovoxError:
    """Work out what is compared of a drive and keep it, unless the drive was changed meanwhile."""
    try:
        before = _key(folder)
    except OdovoxError as error:
        return error
    summary = fresh_summary(folder)
    if isinstance(summary, Summary):
        with suppress(OdovoxError, ValueError):
            if _key(folder) == before:
                keep(folder, before, to_text(summary))
    return summary


def fresh_summary(folder: Path) -> Summary | OdovoxError:
    """Work out what is compared of a drive; what is wrong with it comes back, since an exception would end the others."""
    try:
        return summary_of(observed_of(folder))
    except OdovoxError as error:
        return error


def _key(folder: Path) -> str:
    return f"{content_of(folder)}-{program()}"


@cache
def program() -> str:
    """Return a text that is another one whenever results may come out otherwise: what computes them has changed."""
    import numpy as np

    root = Path(logger.__file__).parent
    digest = hashlib.blake2b(np.__version__.encode(), digest_size=20)
    for path in sorted([*root.rglob("*.py"), *(root.parent / "grammar").glob("*.py")]):
        digest.update(path.read_bytes())
    return digest.hexdigest()
