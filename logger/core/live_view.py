"""What a live drive shows at a glance, as lines of text. Pure.

Nothing of it is needed while driving. It is for a passenger, and for a look before leaving.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap

from logger.core.levels import bar_text
from logger.core.table import plain
from logger.core.times import elapsed_text
from logger.core.units import METRES, Distances
from logger.core.verdicts import NOTE, UNHEARD
from logger.model import Entry, Reception, Status

LAST_CALLS = 5
_TROUBLE_LINES = 2
_BAR = 20
_RECEPTION = {
    Reception.UNREACHABLE: "no gpsd",
    Reception.NO_DEVICE: "none",
    Reception.SILENT: "silent",
    Reception.NO_FIX: "no fix",
    Reception.FIX_2D: "fix without altitude",
    Reception.FIX_3D: "fix",
}


@dataclass(frozen=True, slots=True)
class LiveState:
    """How a drive stands.

    Attributes:
        elapsed_s: time since the drive began.
        entries: the newest entries, in the order of the drive.
        calls: how many calls were heard since this run began.
        reception: what is to be said of the receiver; None before anything is known.
        distance_m: the distance driven.
        level_dbfs: how loud it was in the last second; None while no microphone is open.
        distances: what distances are shown in.
        trouble: what is wrong now, in one line; "" where nothing is.
    """

    elapsed_s: float
    entries: Sequence[Entry]
    calls: int
    reception: Reception | None
    distance_m: float
    level_dbfs: float | None
    distances: Distances
    trouble: str = ""

    @property
    def doubts(self) -> int:
        """How many of the newest entries are in doubt."""
        return sum(entry.status is Status.FLAGGED for entry in self.entries)

    @property
    def charge(self) -> str:
        """The newest charge that stands, as text; "-" where there is none."""
        for entry in reversed(self.entries):
            if entry.quantity == "charge" and entry.value is not None and entry.status is not Status.REJECTED:
                return f"{plain(entry.value)} %{'?' if entry.status is Status.FLAGGED else ''}"
        return "-"


def entry_text(entry: Entry) -> str:
    """Return an entry as a few words: "charge 63 %", with a question mark where it is in doubt."""
    if entry.quantity == UNHEARD:
        what = f"not understood: '{entry.heard}'"
    elif entry.quantity == NOTE or entry.value is None:
        what = entry.note
    else:
        what = f"{entry.quantity.replace('_', ' ')} {plain(entry.value)} {entry.unit}".rstrip()
    mark = {Status.FLAGGED: " ?", Status.REJECTED: " (withdrawn)"}.get(entry.status, "")
    return what + mark


def view_lines(state: LiveState, columns: int, rows: int) -> tuple[str, ...]:
    """Return the view of a terminal: always as many lines, each one place shorter than it is wide, its last row left free."""
    width = max(1, columns - 1)
    receiver = "looking for gpsd" if state.reception is None else _RECEPTION[state.reception]
    bar = "none" if state.level_dbfs is None else bar_text(state.level_dbfs, width=_BAR)
    lines = [
        f"{elapsed_text(state.elapsed_s)}   charge {state.charge}   {state.distance_m / METRES[state.distances]:.1f} {state.distances}",
        f"receiver     {receiver}",
        f"microphone   {bar}",
        f"{state.calls} call{'' if state.calls == 1 else 's'}, {state.doubts} in doubt",
    ]
    trouble = wrap(state.trouble, max(10, width - 2), max_lines=_TROUBLE_LINES, placeholder=" ...")
    lines += [f"{'  ' if number else '! '}{line}" for number, line in enumerate(trouble)]
    lines += [""] * (_TROUBLE_LINES - len(trouble))
    room = max(0, min(LAST_CALLS, rows - 1 - len(lines)))
    newest = list(state.entries)[-room:] if room else []
    lines += [f"  {elapsed_text(entry.at_ns / 1e9)} {entry_text(entry)}" for entry in newest]
    lines += [""] * (room - len(newest))
    return tuple(line[:width] for line in lines[: max(1, rows - 1)])
