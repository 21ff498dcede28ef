"""What the driver is told of a call, and in which words. Pure.

A read-back is never longer than it has to be: the value and its unit, without the name of the quantity, which the driver
has just said. What may be wrong is asked about in the same breath.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from grammar import UNITS
from logger.core.table import plain
from logger.model import Entry, Status

UNHEARD = "unheard"
NOTE = "note"
_ASKED = "asked:"
_NOT_UNDERSTOOD = "not understood"


class Verdict(StrEnum):
    """What became of a call."""

    TAKEN = "taken"
    DOUBTFUL = "doubtful"
    NOT_UNDERSTOOD = "not_understood"


def verdict_on(entries: Sequence[Entry]) -> Verdict:
    """Return what became of the call with these entries: the worst that is true of any of them.

    What the same breath took back is in no doubt. A call without entries was taken for one, and was none.
    """
    if all(entry.quantity == UNHEARD for entry in entries):
        return Verdict.NOT_UNDERSTOOD
    doubtful = any(entry.status is Status.FLAGGED for entry in entries)
    return Verdict.DOUBTFUL if doubtful else Verdict.TAKEN


def spoken(entries: Sequence[Entry]) -> str:
    """Return what a voice says of a call: "63 percent, perhaps 97.2 miles"; "" where there is nothing to say."""
    if not entries:
        return _NOT_UNDERSTOOD
    return ", ".join(text for text in (_spoken(entry) for entry in entries) if text)


def _spoken(entry: Entry) -> str:
    if entry.quantity == UNHEARD:
        return _NOT_UNDERSTOOD
    if entry.quantity == NOTE:
        return "" if entry.note.startswith(_ASKED) else entry.note
    if entry.value is None or entry.status is Status.REJECTED:
        return ""
    maybe = "perhaps " if entry.status is Status.FLAGGED else ""
    return f"{maybe}{_value(entry)}"


def _value(entry: Entry) -> str:
    assert entry.value is not None
    if entry.quantity == "clock":
        hours, minutes = divmod(int(entry.value), 60)
        return f"{hours} {minutes:02d}"
    number = plain(entry.value)
    sign = "minus " if number.startswith("-") else ""
    unit = UNITS.get(entry.unit)
    name = unit.phrases[0] if unit is not None and unit.phrases else ""
    return f"{sign}{number.lstrip('-')} {name}".rstrip()
