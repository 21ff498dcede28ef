"""Very many drives settled and counted, by several processes; progress goes to stderr."""

from __future__ import annotations

import functools
import multiprocessing
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

from rehearsed.bank import Bank, load_bank
from rehearsed.comparing import ODOVOX, compared
from rehearsed.exceptions import EXCEPTIONS, compose
from rehearsed.records import RehearsedDrive
from rehearsed.tallying import Tally

_SEEDS_A_PIECE = 10
Piece = TypeVar("Piece")
Result = TypeVar("Result")


def in_turn(
    work: Callable[[Piece], Result], pieces: Sequence[Piece], jobs: int, name: str
) -> Iterator[Result]:
    """Yield the result of each piece, in order."""
    began = time.monotonic()
    if jobs == 1:
        yield from _telling(map(work, pieces), len(pieces), began, name)
        return
    with multiprocessing.get_context("spawn").Pool(jobs) as pool:
        yield from _telling(pool.imap(work, pieces), len(pieces), began, name)


def _telling(results: Iterable[Result], count: int, began: float, name: str) -> Iterator[Result]:
    for number, result in enumerate(results, start=1):
        took_s = time.monotonic() - began
        print(f"\r{name}: {number} of {count}, {took_s:.0f} s", end="", file=sys.stderr, flush=True)
        yield result
    print(file=sys.stderr)


def by_way(drives: Iterable[RehearsedDrive], jobs: int) -> dict[tuple[float | None, str], Tally]:
    """Return what came of ordinary drives, by ratio of speech to noise and by the way they were settled."""
    of_seed: dict[int, list[RehearsedDrive]] = {}
    for drive in drives:
        # One track serves all ratios of a drive.
        of_seed.setdefault(drive.seed, []).append(drive)
    found: dict[tuple[float | None, str], Tally] = {}
    for counted in in_turn(_compared, list(of_seed.values()), jobs, "drives"):
        for key, tally in counted:
            found[key] = found.get(key, Tally()) + tally
    return found


def _compared(drives: Sequence[RehearsedDrive]) -> list[tuple[tuple[float | None, str], Tally]]:
    return [((drive.ratio_db, way), tally) for drive in drives for way, tally in compared(drive).items()]


def by_exception(bank: Path, ratio_db: float, count: int, jobs: int) -> dict[str, Tally]:
    """Return what came of drives composed from a bank, by exception.

    Drives are composed from so many seeds; a few seeds' cars show too little that is in the bank.
    """
    pieces = [
        (bank, exception, range(begin, min(begin + _SEEDS_A_PIECE, count)), ratio_db)
        for exception in EXCEPTIONS
        for begin in range(0, count, _SEEDS_A_PIECE)
    ]
    found: dict[str, Tally] = {}
    for exception, tally in in_turn(_excepted, pieces, jobs, "exceptions, ten seeds each"):
        found[exception] = found.get(exception, Tally()) + tally
    return found


def _excepted(piece: tuple[Path, str, range, float]) -> tuple[str, Tally]:
    path, exception, seeds, ratio_db = piece
    found = Tally()
    for seed in seeds:
        try:
            drive = compose(_bank(path), exception, seed, ratio_db)
        except LookupError:
            continue
        found += compared(drive, (ODOVOX,))[ODOVOX]
    return exception, found


@functools.cache
def _bank(path: Path) -> Bank:
    return load_bank(path)
