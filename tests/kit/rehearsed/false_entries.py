"""What odovox enters after hearing sound without a call in it: with nothing else, and in the midst of a drive."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from logger.model import Entry, Status
from rehearsed.comparing import reconciled, track
from rehearsed.judging import TAKEN, judge_drive
from rehearsed.records import RehearsedCall, RehearsedDrive

_FROM_S = 3600.0
"""When the other sound begins in the drive that it is laid into."""


@dataclass(frozen=True, slots=True)
class FalseEntries:
    """What came of one kind of other sound.

    Attributes:
        within: the name of the drive it was laid into, "" for none.
        stretches: how many were cut; `heard`: in how many of them both together heard a call.
        accepted, notes: readings and notes (with what else is no reading) entered without asking.
        flagged: entries of any kind that a human is asked about.
        stretches_accepted: stretches with a reading or note among `accepted` and `notes`.
        own, own_lost: readings of the drive itself that are accepted right without the other sound, and how many
            of them are not with it; `own_wrong`: of those, accepted with another value.
    """

    kind: str
    within: str
    hours: float
    stretches: int
    heard: int
    accepted: int
    notes: int
    flagged: int
    stretches_accepted: int
    own: int = 0
    own_lost: int = 0
    own_wrong: int = 0


def alone(sound: RehearsedDrive, hours: float) -> FalseEntries:
    """Return what is entered when nothing else was heard on a drive."""
    entries = reconciled(sound, track(sound.seed)).entries
    return _counted(sound.name, "", hours, sound.calls, entries)


def within(sound: RehearsedDrive, drive: RehearsedDrive, hours: float) -> FalseEntries:
    """Return what is entered when an ordinary drive's calls lie around and between."""
    laid = tuple(replace(call, at_s=call.at_s + _FROM_S) for call in sound.calls)
    both = replace(drive, calls=tuple(sorted((*drive.calls, *laid), key=lambda call: call.at_s)))
    place_at = track(drive.seed)
    entries = reconciled(both, place_at).entries
    undisturbed, disturbed = _own(drive, reconciled(drive, place_at).entries), _own(both, entries)
    lost = [key for key, right in undisturbed.items() if right and not disturbed.get(key)]
    return replace(
        _counted(sound.name, drive.name, hours, both.calls, entries),
        own=sum(right is True for right in undisturbed.values()),
        own_lost=len(lost),
        own_wrong=sum(disturbed.get(key) is False for key in lost),
    )


def _own(drive: RehearsedDrive, entries: Sequence[Entry]) -> dict[tuple[float, str], bool | None]:
    """Return for each reading said whether it was accepted right, or wrong, or (None) not at all."""
    found: dict[tuple[float, str], bool | None] = {}
    for number, call in enumerate(drive.calls, start=1):
        own = [entry for entry in entries if entry.utterance_id == number]
        one = replace(drive, calls=(call,))
        renumbered = [replace(e, id=f"1-{e.id.rsplit('-', maxsplit=1)[-1]}", utterance_id=1) for e in own]
        for each in judge_drive(one, renumbered, [()]):
            if each.said is not None:
                found[call.at_s, each.said.quantity] = each.right if each.taken else None
    return found


def _counted(
    kind: str, drive: str, hours: float, calls: Sequence[RehearsedCall], entries: Sequence[Entry]
) -> FalseEntries:
    numbers = {number for number, call in enumerate(calls, start=1) if call.kind == "talk"}
    false = [entry for entry in entries if entry.utterance_id in numbers]
    taken = [entry for entry in false if entry.status in TAKEN]
    notes = sum(entry.quantity == "note" for entry in taken)
    return FalseEntries(
        kind=kind,
        within=drive,
        hours=hours,
        stretches=len(numbers),
        heard=sum(bool(calls[number - 1].vosk) for number in numbers),
        accepted=len(taken) - notes,
        notes=notes,
        flagged=sum(entry.status is Status.FLAGGED for entry in false),
        stretches_accepted=len({entry.utterance_id for entry in taken}),
    )
