"""Entries held against what was truly said: what was taken silently wrong, what was asked about, and what the suggestions were worth.

A *silent error* is an accepted (or corrected) entry whose quantity, value or unit is not what was said, or which nothing
said stands behind. Readings that a later command withdrew or replaced have no entry to judge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from logger.core.aligning import aligned
from logger.model import Entry, Status
from rehearsed.records import RehearsedCall, RehearsedDrive, SaidReading

TAKEN = frozenset({Status.ACCEPTED, Status.CORRECTED})
_OTHER_VALUE, _OTHER_UNIT, _OTHER_QUANTITY, _LEFT_OUT = 1.0, 1.5, 2.5, 2.0


@dataclass(frozen=True, slots=True)
class Judged:
    """One reading that was said, or an entry that nothing said stands behind.

    Attributes:
        said: what was said; None for an entry of nothing.
        entry: what became of it; None where nothing did.
        right: whether the entry has the value said.
        rank: place of the truth among the entry's value and alternatives by probability, from 1; 0: not there.
        first_right: whether the recogniser's first answer had it.
    """

    said: SaidReading | None
    entry: Entry | None
    right: bool
    rank: int
    first_right: bool

    @property
    def taken(self) -> bool:
        """Whether it was accepted without a human."""
        return self.entry is not None and self.entry.status in TAKEN

    @property
    def silent_error(self) -> bool:
        """Whether it was accepted and is wrong."""
        return self.taken and not self.right


def judge_drive(
    drive: RehearsedDrive, entries: Sequence[Entry], firsts: Sequence[Sequence[SaidReading]]
) -> list[Judged]:
    """Judge all readings of a drive.

    Args:
        drive: what was said, in utterances numbered from 1.
        entries: its log.
        firsts: for each call what the recogniser's first answer means.
    """
    by_call: dict[int, list[Entry]] = {}
    gone: dict[int, set[int]] = {}
    for entry in entries:
        place = entry.id.rsplit("-", maxsplit=1)[-1]
        if entry.quantity == "note" or not place.isdecimal():
            continue
        if entry.status is Status.REJECTED:
            gone.setdefault(entry.utterance_id, set()).add(int(place))
        by_call.setdefault(entry.utterance_id, []).append(entry)
    judged: list[Judged] = []
    for number, (call, first) in enumerate(zip(drive.calls, firsts, strict=True), start=1):
        found = sorted(by_call.get(number, []), key=lambda each: int(each.id.rsplit("-", maxsplit=1)[-1]))
        judged += _judge_call(call, found, first)
    return judged


def _judge_call(call: RehearsedCall, entries: list[Entry], first: Sequence[SaidReading]) -> list[Judged]:
    first_of = align(call.readings, [(each.quantity, Decimal(each.value), each.unit) for each in first])
    of = align(call.readings, [(each.quantity, each.value, each.unit) for each in entries])
    judged = []
    for said, index, heard in zip(call.readings, of, first_of, strict=True):
        entry = None if index is None else entries[index]
        if entry is not None and entry.status is Status.REJECTED:
            continue
        first_right = heard is not None and _same(said, first[heard])
        if entry is None:
            judged.append(Judged(said, None, right=False, rank=0, first_right=first_right))
            continue
        right = (
            entry.quantity == said.quantity
            and entry.value is not None
            and _equal(said, entry.value, entry.unit)
        )
        judged.append(Judged(said, entry, right=right, rank=_rank(said, entry), first_right=first_right))
    left = set(range(len(entries))) - {index for index in of if index is not None}
    judged += [
        Judged(None, entries[index], right=False, rank=0, first_right=False)
        for index in sorted(left)
        if entries[index].status is not Status.REJECTED
    ]
    return judged


def _equal(said: SaidReading, value: Decimal, unit: str) -> bool:
    return Decimal(said.value) == value and said.unit == unit


def _same(said: SaidReading, heard: SaidReading) -> bool:
    return said.quantity == heard.quantity and _equal(said, Decimal(heard.value), heard.unit)


def _rank(said: SaidReading, entry: Entry) -> int:
    if entry.value is None:
        return 0
    ways = [(entry.confidence, entry.value, entry.unit)]
    ways += [(each.confidence, each.value, each.unit) for each in entry.alternatives]
    ways.sort(key=lambda way: -way[0])  # stable: the entry's own value first among equals
    for rank, (_, value, unit) in enumerate(ways, start=1):
        if _equal(said, value, unit):
            return rank
    return 0


def align(said: Sequence[SaidReading], found: Sequence[tuple[str, Decimal | None, str]]) -> list[int | None]:
    """Return for each reading said which of what was found stands for it, None for none: the cheapest in order."""
    return aligned(said, found, _difference, _LEFT_OUT)


def _difference(said: SaidReading, found: tuple[str, Decimal | None, str]) -> float:
    quantity, value, unit = found
    if quantity == "unheard":
        return _OTHER_VALUE
    if quantity != said.quantity:
        return _OTHER_QUANTITY
    if unit != said.unit:
        return _OTHER_UNIT
    return 0.0 if value == Decimal(said.value) else _OTHER_VALUE
