"""What the driver's own commands do to a drive's readings: corrections and "strike that". Pure.

- A **correction** replaces the newest standing reading of its quantity. What was replaced stays as a rejected entry.
  The new value belongs to the moment the replaced one was read off, so the correction takes over its time and place.
  Without an earlier reading of the quantity it is a reading like any other.
- **strike that** withdraws the newest standing call: all readings of one utterance, or a call that was not understood.
  A struck correction lets what it replaced stand again.
  Where a note was said after that call, or where the words may have been others, nothing is withdrawn, but the
  call's readings are in doubt.
- **note ...** and the questions are remarks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from grammar import Command, CommandKind, Reading
from logger.core.candidates import Call
from logger.core.slots import Slot
from logger.core.times import elapsed_text

UNCLEAR = 0.05
"""A command is in doubt when everything else it may have been weighs more than this share of it."""


class SpokenReading(NamedTuple):
    """A reading's slot; `at_ns` is when it was read off, which for a correction is the replaced reading's time."""

    slot: Slot
    at_ns: int
    replaces: str = ""
    """The id of the entry it corrects."""


@dataclass(frozen=True, slots=True)
class Remark:
    """A note, a question or a strike, as it goes to the log; `doubt` says what makes it unclear."""

    slot: Slot
    text: str
    effect: str = ""
    doubt: str = ""


@dataclass(slots=True)
class Said:
    """The drive's readings and remarks in the order said, and what became of them, by entry id.

    `gone` holds why an entry no longer stands, `doubted` why it may not.
    """

    readings: list[SpokenReading] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    not_understood: list[Call] = field(default_factory=list)
    gone: dict[str, str] = field(default_factory=dict)
    doubted: dict[str, str] = field(default_factory=dict)


def take_in(calls: Sequence[Call]) -> Said:
    """Go through the calls of a drive, in the order spoken, and apply the driver's commands."""
    return _Listener().listen(calls)


def clock_text(at_ns: int) -> str:
    """Return a time of the drive clock as H:MM:SS."""
    return elapsed_text(at_ns / 1e9)


def unheard_id(call: Call) -> str:
    """Return the entry id of a call that was not understood."""
    return f"{call.utterance.id}-1"


class _Listener:
    """Keeps what stands while the calls go by."""

    def __init__(self) -> None:
        self._said = Said()
        self._standing: list[
            list[str]
        ] = []  # ids of the calls that stand, one list per utterance, never empty
        self._reading: dict[str, SpokenReading] = {}
        self._newest: dict[str, list[str]] = {}  # by quantity, ids in the order said
        self._note_since_call: Remark | None = None

    def listen(self, calls: Sequence[Call]) -> Said:
        for call in calls:
            if not call.slots:
                self._said.not_understood.append(call)
                self._standing.append([unheard_id(call)])
                self._note_since_call = None
                continue
            own: list[str] = []
            for slot in call.slots:
                if isinstance(slot.frame, Reading):
                    self._read(slot, slot.frame, own)
                else:
                    self._command(slot, slot.frame, own)
        return self._said

    def _read(self, slot: Slot, reading: Reading, own: list[str]) -> None:
        entry_id, at_ns, replaces = slot.id, slot.at_ns, ""
        newest = self._newest.setdefault(reading.quantity, [])
        if reading.correction and newest:
            replaces = newest.pop()
            at_ns = self._reading[replaces].at_ns
            when = clock_text(slot.at_ns)
            self._said.gone[replaces] = f"replaced by the spoken correction at {when} ({entry_id})"
        spoken = SpokenReading(slot, at_ns, replaces)
        self._reading[entry_id] = spoken
        self._said.readings.append(spoken)
        newest.append(entry_id)
        if not own:
            self._standing.append(own)
        own.append(entry_id)
        self._note_since_call = None

    def _command(self, slot: Slot, command: Command, own: list[str]) -> None:
        doubt = _doubt(slot)
        if command.kind is CommandKind.NOTE:
            remark = Remark(slot, command.text, doubt=doubt)
            if not own:  # a note in the same breath as readings is part of that call
                self._note_since_call = remark
        elif command.kind is CommandKind.STRIKE:
            remark = Remark(slot, "strike that", self._strike(slot, doubt), doubt)
        else:
            remark = Remark(slot, f"asked: {command.kind.replace('_', ' ')}", doubt=doubt)
        self._said.remarks.append(remark)

    def _strike(self, slot: Slot, doubt: str) -> str:
        """Withdraw or doubt the newest standing call; return what was done."""
        when = clock_text(slot.at_ns)
        if not self._standing:
            return "there was no call to withdraw"
        ids = self._standing[-1]
        note = self._note_since_call
        if doubt or note is not None:
            why = f"'strike that' at {when} may have meant this"
            if note is not None:
                why += f", or the note '{note.text}' said after it"
            if doubt:
                why += f"; {doubt}"
            self._said.doubted.update(dict.fromkeys(ids, why))
            return f"it is not clear whether it meant {', '.join(ids)}"
        withdrawn = list(self._standing.pop())
        ids.clear()  # so that a reading later in the same breath begins a new call
        for entry_id in reversed(withdrawn):
            self._said.gone[entry_id] = f"withdrawn by 'strike that' at {when} ({slot.id})"
            spoken = self._reading.get(entry_id)
            if spoken is None:
                continue
            newest = self._newest[spoken.slot.frame.quantity]  # type: ignore[union-attr]
            newest.remove(entry_id)
            if spoken.replaces:
                del self._said.gone[spoken.replaces]
                newest.append(spoken.replaces)
        return f"withdrew {', '.join(withdrawn)}"


def _doubt(slot: Slot) -> str:
    """Return what else a command may have been, if that is likely enough."""
    weight = next((option.weight for option in slot.options if option.part == slot.frame), 0.0)
    if 1.0 - weight <= UNCLEAR * weight:
        return ""
    others = [option for option in slot.options if option.part != slot.frame]
    if not others:
        return f"the recogniser is sure of it by {weight:.0%} only"
    return f"it may have been '{others[0].heard}'"
