"""What a report tells of a made-up drive besides its results: entries, decisions, a hostile text in every place that has one."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from called_drives import BEGAN, nowhere, steady
from reviewed_drives import doubtful_drive

from logger.core.reporting.making import Recorded
from logger.core.results.figures import Absent, Figure, Line, Section
from logger.core.rows import PlaceAt
from logger.core.table import Column, Kind, Table
from logger.model import Action, Before, Decision, Entry, Status

HOSTILE = "<img src=x onerror=\"document.title='owned'\"> | **bold** [here](javascript:0) $x$ <script>document.title='owned'</script>"
SOFTWARE = "odovox 0"


def entries() -> tuple[Entry, ...]:
    """The entries of a drive with three doubts, and a note."""
    return doubtful_drive().settle().entries


def doubts() -> tuple[Entry, ...]:
    """Those in doubt."""
    return tuple(each for each in entries() if each.status is Status.FLAGGED)


def decisions() -> tuple[Decision, ...]:
    """Two: one changed a charge, the other took that back."""
    seen = Before(Status.FLAGGED, "charge", Decimal(19), "%", "")
    changed = Decision(
        1,
        BEGAN + 9 * 10**12,
        "Ada",
        Action.REPLACE,
        "5-1",
        "charge",
        Decimal(77),
        "%",
        None,
        "heard again",
        words="77",
        was=seen,
    )
    undone = replace(
        changed,
        id=2,
        action=Action.WITHDRAW,
        who="Ben",
        why="heard once more",
        words="",
        was=None,
        withdraws=1,
    )
    return changed, undone


def recorded(*, name: str = "loop", place_at: PlaceAt = steady, state: tuple[str, ...] = ()) -> Recorded:
    """All of it together."""
    return Recorded(name, entries(), decisions(), place_at, state, SOFTWARE)


def empty(*, state: tuple[str, ...] = ()) -> Recorded:
    """A drive in which nothing was called out."""
    return Recorded("silent", (), (), nowhere, state, SOFTWARE)


def hostile() -> Recorded:
    """Each text that a person or a sheet chose is hostile."""
    heard = tuple(
        replace(each, reason=HOSTILE, heard=HOSTILE, note=HOSTILE if each.quantity == "note" else "")
        for each in entries()
    )
    made = tuple(replace(each, who=HOSTILE, why=HOSTILE, words=HOSTILE) for each in decisions())
    return Recorded(HOSTILE.replace("/", "-"), heard, made, steady, (HOSTILE,), SOFTWARE)


def hostile_section(key: str) -> Section:
    """A section of which every text is hostile."""
    table = Table("rows", (Column("remark", Kind.TEXT, "", HOSTILE),), ((HOSTILE,),))
    lines = (
        Line("one", HOSTILE, Figure(1.0, "km", 0.9, 1.1, HOSTILE, remark=HOSTILE)),
        Line("none", HOSTILE, Absent(HOSTILE)),
    )
    return Section(key, HOSTILE, lines, (table,), (HOSTILE,))
