"""The view of a live drive as lines."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

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
    """Time, charge, distance, receiver and level; calls and doubts; the newest calls with their marks."""
    lines = view_lines(STATE, 120)

    assert "1:02:05   charge 63 %?   10.0 mi   fix   [##########----------] -30 dBFS" == lines[0]
    assert "1 call, 2 in doubt" == lines[1]
    assert "  0:01:01  range left 109 mi ?" == lines[3]
    assert "  0:01:03  charge 9 % (withdrawn)" == lines[5]


def test_always_as_many_lines_and_never_too_wide() -> None:
    """Without anything yet, and with a long trouble on a narrow terminal, it keeps its size."""
    nothing = LiveState(0.0, [], 0, None, 0.0, None, "km")
    narrow = view_lines(replace(STATE, trouble="the disk is full " * 9), 40)

    assert len(view_lines(STATE, 120)) == len(view_lines(nothing, 120)) == len(narrow)
    assert max(map(len, narrow)) <= 40
    assert "0:00:00   charge -   0.0 km   looking for gpsd   no microphone" == view_lines(nothing, 120)[0]


def test_what_was_not_understood_and_notes() -> None:
    """They have no value, and still say what they are."""
    unheard = replace(
        STATE.entries[0], quantity="unheard", value=None, heard="checkpoint mumble", status=Status.FLAGGED
    )
    note = replace(STATE.entries[0], quantity="note", value=None, note="headwind")

    assert ("not understood: 'checkpoint mumble' ?", "headwind") == (entry_text(unheard), entry_text(note))
