"""How an entry of a stored drive came about. The drive is only read."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from logger.core.decided import is_about
from logger.core.explaining import Explanation, explain, nearest_id
from logger.errors import OdovoxError
from logger.model import Action, Entry, Place, Recognition
from logger.store import DriveStore
from logger.wiring.log_table import places_of
from logger.wiring.reconciling import worked_out


@dataclass(frozen=True, slots=True)
class Account:
    """An entry and how it came about.

    Attributes:
        entry: as it is in the log, or as it would be where the log does not have it yet.
        now: as it would be if the drive were reconciled now; None where it would not be there.
        logged: whether the log has it.
        at_utc_ns: when it was read off.
        place: where, None where nobody knows.
        clip: its sound, relative to the drive's folder; "" where none is kept.
        explanation: how it came about.
    """

    entry: Entry
    now: Entry | None
    logged: bool
    at_utc_ns: int
    place: Place | None
    clip: str
    explanation: Explanation


def account_of(folder: Path, entry_id: str) -> Account:
    """Return how an entry of the drive in a folder came about.

    Raises:
        OdovoxError: there is no such entry or no drive in the folder, or it cannot be read.
    """
    with DriveStore.open(folder, readonly=True) as store:
        decisions = store.decisions()
        about = [each for each in decisions if is_about(each, entry_id)]
        logged = {entry.id: entry for entry in store.entries()}
        worked = worked_out(store, decisions)
        now = {entry.id: entry for entry in worked.entries}
        entry = logged.get(entry_id) or now.get(entry_id)
        if entry is None:
            raise OdovoxError(_unknown(folder, entry_id, [*now, *logged]))
        # What a person added belongs to no sound; its utterance is only the nearest.
        added = any(each.action is Action.ADD for each in about)
        clip, recognition = ("", None) if added else _heard(store, entry.utterance_id)
        if about:
            worked = worked_out(store, [each for each in decisions if each not in about])
        at_utc_ns = store.drive().began_utc_ns + entry.at_ns
        return Account(
            entry,
            now.get(entry_id),
            entry_id in logged,
            at_utc_ns,
            places_of(store)(at_utc_ns),
            clip,
            explain(entry_id, worked, recognition, about),
        )


def _heard(store: DriveStore, utterance_id: int) -> tuple[str, Recognition | None]:
    """Return the clip of an utterance, "" where none is kept, and the newest that was heard of it."""
    clips = (each.clip for each in store.utterances() if each.id == utterance_id)
    clip = next(clips, "")
    newest = (each for each in store.latest_recognitions() if each.utterance_id == utterance_id)
    return clip if (store.folder / clip).is_file() else "", next(newest, None)


def _unknown(folder: Path, entry_id: str, ids: list[str]) -> str:
    near = nearest_id(entry_id, ids)
    hint = f"; did you mean {near}?" if near else ""
    return (
        f"{folder} has no entry {entry_id!r}: an id is utterance-part, such as 12-2, or added-3, "
        f"as the first column of `odovox log` shows{hint}"
    )
