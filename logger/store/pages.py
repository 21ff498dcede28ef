"""Rows out of the pages of an SQLite file, without its trees: for a file that SQLite itself refuses.

SQLite follows a table from its root, so one bad page takes all rows behind it along. But each page holds its rows complete,
so here every page is looked at by itself, in the file and in the write-ahead log beside it, as "Database File Format"
(sqlite.org/fileformat2.html) describes them; what does not read as a row is passed over. Which table a row is of, the page does
not say: see `salvaging`.

No ready-made way was found: `.recover` of Debian's `sqlite3` 3.40.1 fails on any file (its library lacks the table of pages that it
needs), apsw 3.54.1 has none; and neither reads what the indexes hold.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

Value: TypeAlias = int | float | str | bytes | None

_MAGIC = b"SQLite format 3\x00"
_USUAL_PAGE = 4096
_FILE_HEADER = 100
_LOG_MAGIC = (0x377F0682, 0x377F0683)
_LOG_HEADER, _FRAME_HEADER = 32, 24
_LEAF_INDEX, _LEAF_TABLE, _INNER_INDEX = 0x0A, 0x0D, 0x02
_LONGEST_PAYLOAD = 1 << 24
"""Far longer than any row of ours: what claims more is no row."""
_INTEGER_BYTES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table, or one entry of an index or of a table without rowids.

    Attributes:
        rowid: its number, None for an index.
        values: its columns; a column that is the rowid holds None.
    """

    rowid: int | None
    values: tuple[Value, ...]


def rows_of(file: bytes, log: bytes = b"") -> Iterator[Row]:
    """Yield all rows that any page holds, the oldest state of a page first.

    Args:
        file: the database file.
        log: the write-ahead log beside it. Its frames are taken up to the last commit, damaged ones among them too, which
            SQLite would stop at.
    """
    size = _page_size(file, log)
    pages = [
        (number + 1, file[at : at + size])
        for number, at in enumerate(range(0, len(file) - len(file) % size, size))
    ]
    left_over, current = _frames(log, size)
    states = [*left_over, *pages, *current]
    newest = dict(states)
    for number, page in states:
        yield from _rows(page, _FILE_HEADER if number == 1 else 0, newest)


def _page_size(file: bytes, log: bytes) -> int:
    if file.startswith(_MAGIC):
        told = int.from_bytes(file[16:18], "big")
        size = 65_536 if told == 1 else told
    elif len(log) >= _LOG_HEADER:
        size = int.from_bytes(log[8:12], "big")
    else:
        size = _USUAL_PAGE
    return size if 512 <= size <= 65_536 and size & (size - 1) == 0 else _USUAL_PAGE


def _frames(log: bytes, size: int) -> tuple[list[tuple[int, bytes]], list[tuple[int, bytes]]]:
    """Return the pages of a log with their numbers: those left over from before it was begun anew, and its own."""
    left_over: list[tuple[int, bytes]] = []
    current: list[tuple[int, bytes]] = []
    committed = 0
    salts = log[16:24] if int.from_bytes(log[:4], "big") in _LOG_MAGIC else None
    step = _FRAME_HEADER + size
    for at in range(_LOG_HEADER, len(log) - step + 1, step):
        number = int.from_bytes(log[at : at + 4], "big")
        page = (number, log[at + _FRAME_HEADER : at + step])
        # Without salts are those that a transaction has written more than once and not committed yet.
        if salts is not None and log[at + 8 : at + 16] not in {salts, bytes(8)}:
            left_over.append(page)
            continue
        current.append(page)
        if any(log[at + 4 : at + 8]):  # the size of the file after a commit
            committed = len(current)
    return left_over, current[:committed]


def _rows(page: bytes, header_at: int, newest: dict[int, bytes]) -> Iterator[Row]:
    kind = page[header_at]
    if kind not in {_LEAF_INDEX, _LEAF_TABLE, _INNER_INDEX}:
        return
    cells_at = header_at + (12 if kind == _INNER_INDEX else 8)
    count = int.from_bytes(page[header_at + 3 : header_at + 5], "big")
    for each in range(min(count, (len(page) - cells_at) // 2)):
        at = int.from_bytes(page[cells_at + 2 * each : cells_at + 2 * each + 2], "big")
        try:
            yield _cell(page, at, kind, newest)
        except (ValueError, IndexError, struct.error):
            continue


def _cell(page: bytes, at: int, kind: int, newest: dict[int, bytes]) -> Row:
    """Return the row of one cell.

    Raises:
        ValueError, IndexError, struct.error: there is none.
    """
    if kind == _INNER_INDEX:
        at += 4  # the page of the child on its left
    length, at = _varint(page, at)
    rowid: int | None = None
    if kind == _LEAF_TABLE:
        number, at = _varint(page, at)
        rowid = number - (1 << 64) if number >> 63 else number
    return Row(rowid, _record(_payload(page, at, length, kind, newest)))


def _payload(page: bytes, at: int, length: int, kind: int, newest: dict[int, bytes]) -> bytes:
    """Return all bytes of a row, of which a long one keeps the greater part on pages of its own."""
    usable = len(page)
    most = usable - 35 if kind == _LEAF_TABLE else (usable - 12) * 64 // 255 - 23
    if not 0 < length <= _LONGEST_PAYLOAD:
        raise ValueError("no length of a row")
    if length <= most:
        local = length
    else:
        least = (usable - 12) * 32 // 255 - 23
        local = least + (length - least) % (usable - 4)
        if local > most:
            local = least
    if at + local > usable:
        raise ValueError("the row ends behind its page")
    found = [page[at : at + local]]
    missing = length - local
    following = int.from_bytes(page[at + local : at + local + 4], "big") if missing else 0
    while missing > 0:
        more = newest.get(following)
        if more is None:
            raise ValueError("the rest of the row is not there")
        found.append(more[4 : 4 + missing])
        missing -= len(more) - 4
        following = int.from_bytes(more[:4], "big")
    return b"".join(found)


def _record(payload: bytes) -> tuple[Value, ...]:
    end, at = _varint(payload, 0)
    if not at <= end <= len(payload):
        raise ValueError("no header of a row")
    kinds = []
    while at < end:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    values: list[Value] = []
    for kind in kinds:
        value, at = _value(payload, at, kind)
        values.append(value)
    if at != len(payload):
        raise ValueError("the columns do not fill the row")
    return tuple(values)


def _value(payload: bytes, at: int, kind: int) -> tuple[Value, int]:
    if kind == 0:
        return None, at
    if kind in _INTEGER_BYTES:
        end = at + _INTEGER_BYTES[kind]
        return int.from_bytes(payload[at:end], "big", signed=True), end
    if kind == 7:
        return float(struct.unpack_from(">d", payload, at)[0]), at + 8
    if kind in {8, 9}:
        return kind - 8, at
    if kind < 12:
        raise ValueError("no kind of a value")
    end = at + (kind - 12) // 2
    raw = payload[at:end]
    return (raw.decode() if kind % 2 else raw), end


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """Return a number of one to nine bytes, and where it ends."""
    number = 0
    for each in range(8):
        byte = data[at + each]
        number = number << 7 | byte & 0x7F
        if byte < 0x80:
            return number, at + each + 1
    return number << 8 | data[at + 8], at + 9
