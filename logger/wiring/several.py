"""Which drives are meant where several may be named, and what is made of each; one that cannot be read stops no other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

from logger.core.drive_names import unique_names
from logger.errors import OdovoxError, StoreError
from logger.store.connection import has_database

_Made = TypeVar("_Made")


def drive_folders(paths: Iterable[Path]) -> tuple[Path, ...]:
    """Return the drive folders that are meant, each once, in the order given; those inside a folder by their names.

    A path that is neither a drive nor holds any is returned as it is: opening it says what is wrong with it.
    """
    found: dict[Path, Path] = {}
    for path in paths:
        for each in (path,) if has_database(path) else (_inside(path) or (path,)):
            found.setdefault(each.absolute(), each)
    return tuple(found.values())


def names_of(folders: Iterable[Path]) -> tuple[str, ...]:
    """Return a name for each drive, safe and unique."""
    return unique_names(folder.resolve().name for folder in folders)


def made_of_each(
    folders: Sequence[Path], make: Callable[[Path], _Made], broken: Callable[[OdovoxError], None]
) -> Iterator[_Made]:
    """Yield what `make` makes of each drive; one of several that cannot be read goes to `broken` and is left out.

    Raises:
        OdovoxError: the only drive cannot be read, or none of several.
    """
    count = 0
    for folder in folders:
        try:
            made = make(folder)
        except OdovoxError as error:
            if len(folders) == 1:
                raise
            broken(error)
        else:
            count += 1
            yield made
    if not count:
        raise StoreError(f"none of the {len(folders)} drives could be read; see above")


def _inside(folder: Path) -> tuple[Path, ...]:
    try:
        return tuple(sorted(each for each in folder.iterdir() if has_database(each)))
    except OSError:
        return ()
