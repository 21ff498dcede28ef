"""The facts of a drive whose database is damaged, as far as any page of it still holds them.

A row is known by its shape: how many columns it has, of which types, and what may be in them. Several tables have a
second copy of their rows, or of a part of each, in an index; both are looked at. Entries are not salvaged: they follow
from the facts.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from logger.core.fixes import on_earth
from logger.core.mending import Facts
from logger.errors import StoreError
from logger.model import Drive, Fix, Issue, Source, Utterance
from logger.store import beside, connection, records
from logger.store.pages import Row, Value, rows_of

_KEY = re.compile(r"[0-9a-f]{64}|live-[-0-9]+|recovered-[0-9]+")
"""What stands for the content of a track, or of a sound file; that of live sound is ""."""
_CODE = re.compile(r"[a-z][a-z_]*")


def salvage(folder: Path) -> Facts:
    """Return all facts of the drive in a folder that can still be read; nothing is written there.

    Raises:
        StoreError: there is no database, or the disk does not give it.
    """
    path = folder / connection.FILE_NAME
    log = path.with_name(path.name + "-wal")
    try:
        if not path.exists() and beside.read(folder) is None:
            raise StoreError(f"{folder} is not a drive folder: there is no {path.name} in it; check the name")
        content, logged = (each.read_bytes() if each.exists() else b"" for each in (path, log))
    except OSError as error:
        raise StoreError(
            f"{path} cannot be read ({error.strerror}); copy the folder to another disk first, as far as it can be read"
        ) from error
    found = Facts()
    for row in rows_of(content, logged):
        try:
            if row.rowid is None:
                _take_unnumbered(row.values, found)
            elif row.rowid > 0 and row.values[:1] == (None,):  # that column is the number
                _take_numbered(row.rowid, row, found)
        except (ValueError, TypeError, ArithmeticError):  # by its shape it could have been one
            continue
    if found.drive is None:
        found.drive = beside.read(folder)
    return found


def _take_numbered(number: int, row: Row, found: Facts) -> None:
    """Put a row of a table with numbers where it belongs, in the place of an older state of it."""
    match row.values[1:]:
        case (int(began_utc_ns), str(sheet), str(software)) if number == 1 and software.startswith("odovox"):
            found.drive = Drive(began_utc_ns, sheet)
        case (str(name), str(key), int(start_ns), (int() | None) as count) if _is_key(key, or_live=True):
            found.sources[number] = Source(number, name, key, start_ns, count)
        case (int(source), int(first), int(count), int(start_ns), str(clip)) if (
            source > 0 <= min(first, count)
        ):
            found.utterances[number] = Utterance(number, source, first, count, start_ns, clip)
            found.begun[number] = source, first
        case (int(utterance), str(recogniser)) if utterance > 0:
            found.recognitions[number] = utterance, recogniser
        case (str(name), str(key)) if _is_key(key):
            found.tracks[number] = name, key
        case (str(code), str(message)) if _CODE.fullmatch(code):
            found.issues[number] = Issue(code, message)
        case (int(longer),) if longer > 0:
            found.longer[number] = longer
        case (
            int(),
            str(),
            str(),
            str(),
            str(),
            str() | None,
            str(),
            int() | None,
            str(),
            *more,
        ) as columns if len(more) in {0, len(records.NOT_REVIEWED)}:
            found.decisions[number] = records.decision_of(
                (number, *columns, *(() if more else records.NOT_REVIEWED))
            )
        case _:
            pass


def _take_unnumbered(values: Sequence[Value], found: Facts) -> None:
    """Put a row of a table without numbers where it belongs, or what an index tells, whose last value is the number."""
    match values:
        case (int(recognition), int(rank), str(words), (int() | float() | None) as score, *scores) if (
            len(scores) < 2
        ):
            if recognition > 0 <= rank:
                row = (rank, words, _real(score), scores[0] if scores else None)
                found.hypotheses[recognition, rank] = records.hypothesis_of(row)
        case (int(track), int(number), int(utc_ns), lat, lon, *others) if (
            track > 0 <= number and len(others) == 3
        ):
            lat_deg, lon_deg, rest = _real(lat), _real(lon), [_real(each) for each in others]
            if lat_deg is not None and lon_deg is not None and on_earth(lat_deg, lon_deg):
                found.fixes[track, number] = Fix(utc_ns, lat_deg, lon_deg, *rest)
        case (str(key), int(start_ns), int(number)) if number > 0 and _is_key(key, or_live=True):
            found.sources.setdefault(number, Source(number, "", key, start_ns, None))
        case (int(source), int(first), int(number)) if source > 0 <= first and number > 0:
            found.begun.setdefault(number, (source, first))
        case (int(utterance), str(recogniser), int(number)) if utterance > 0 and number > 0:
            found.recognitions.setdefault(number, (utterance, recogniser))
        case (str(key), int(number)) if number > 0 and _is_key(key):
            found.tracks.setdefault(number, ("", key))
        case (str(code), str(message), int(number)) if number > 0 and _CODE.fullmatch(code):
            found.issues.setdefault(number, Issue(code, message))
        case _:
            pass


def _is_key(text: str, *, or_live: bool = False) -> bool:
    return (or_live and not text) or _KEY.fullmatch(text) is not None


def _real(value: Value) -> float | None:
    """Return a number that a column of reals holds, which may be kept as an integer.

    Raises:
        ValueError: it holds something else.
    """
    if value is None:
        return None
    if isinstance(value, int | float):
        return float(value)
    raise ValueError("no number")
