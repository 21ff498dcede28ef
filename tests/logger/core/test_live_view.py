"""The view of a live drive as lines."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from logger.core.live_view import LiveState, entry_text, view_lines
from logger.model import Entry, Origin, Reception, Status

S = 1_000_000_000


def entry(at_s: int, quantity: str, value: str, unit: str, status: Status = Status.ACCEPTED) -> Entry:
    """An entry."""
    return Entry(
        f"{at_s}-1", at_s, at_s * S, quantity, Decimal(value), unit, status, 0.9, Origin.HEARD, "", "", ""
    )


STATE = LiveState(
    elapsed_s=3725.0,
    entries=[
        entry(60, "charge", "64", "%"),
        entry(61, "range_left", "109", "mi", Status.FLAGGED),
        entry(62, "charge", "63", "%", Status.FLAGGED),
        entry(63, "charge", "9", "%", Status.REJECTED),
    ],
    calls=1,
    reception=Reception.FIX_3D,
    distance_m=16_093.44,
    level_dbfs=-30.0,
    distances="mi",
)


def test_the_lines() -> None:
    """Time, charge and distance; receiver; level; calls and doubts; trouble; the newest calls with their marks."""
    assert (
        "1:02:05   charge 63 %?   10.0 mi",
        "receiver     fix",
        "microphone   [##########----------]",
        "1 call, 2 in doubt",
        "! the disk is full; free some space",
        "",
        "  0:01:00 charge 64 %",
        "  0:01:01 range left 109 mi ?",
        "  0:01:02 charge 63 % ?",
        "  0:01:03 charge 9 % (withdrawn)",
        "",
    ) == view_lines(replace(STATE, trouble="the disk is full; free some space"), 40, 12)


def test_nothing_yet() -> None:
    """Without anything yet it has its size already."""
    nothing = view_lines(LiveState(0.0, [], 0, None, 0.0, None, "km"), 80, 24)

    assert ("0:00:00   charge -   0.0 km", "receiver     looking for gpsd", "microphone   none") == nothing[
        :3
    ]
    assert len(view_lines(STATE, 80, 24)) == len(nothing)


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 12), (30, 9), (12, 5), (2, 2), (1, 1), (0, 0)])
def test_it_fits(columns: int, rows: int) -> None:
    """Whatever is to be told, and however small the terminal: as many lines, none as wide as it, one row left."""
    long = replace(STATE.entries[0], quantity="note", value=None, note="word " * 40)
    full = replace(STATE, trouble="the disk is full " * 9, entries=[*STATE.entries, long, long, long])
    lines = view_lines(full, columns, rows)

    assert len(lines) == len(view_lines(STATE, columns, rows)) <= max(1, rows - 1)
    assert max(map(len, lines)) <= max(1, columns - 1)
    if rows > 7 and columns < 80:
        assert lines[5].endswith(" ...")


def test_what_was_not_understood_and_notes() -> None:
    """They have no value, and still say what they are."""
    unheard = replace(
        STATE.entries[0], quantity="unheard", value=None, heard="checkpoint mumble", status=Status.FLAGGED
    )
    note = replace(STATE.entries[0], quantity="note", value=None, note="headwind")

    assert ("not understood: 'checkpoint mumble' ?", "headwind") == (entry_text(unheard), entry_text(note))
