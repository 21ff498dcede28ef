"""The facts of a stored drive -> its entries, put in the place of those there were."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from grammar import Language
from logger.core.reconcile import Settled, Worked, work_out
from logger.model import Decision, Issue, Status
from logger.store import DriveStore
from logger.wiring.log_table import places_of
from logger.wiring.sheets import sheet_from
from logger.wiring.uncollected import uncollected


@dataclass(frozen=True, slots=True)
class Summary:
    """What a drive holds.

    Attributes:
        calls: utterances that gave at least one entry.
        counts: entries by status.
        sound_issues: what is odd about the sound, of all runs.
    """

    calls: int
    counts: dict[Status, int]
    sound_issues: tuple[Issue, ...]

    @property
    def needs_human(self) -> bool:
        """Whether an entry is in doubt, nothing was heard at all, or something is odd about the sound."""
        return bool(self.counts.get(Status.FLAGGED) or not self.calls or self.sound_issues)


def settle(store: DriveStore) -> Settled:
    """Reconcile the whole drive and replace its entries.

    What is odd about them is returned and not stored: it follows from the facts anew each time.

    Raises:
        OdovoxError: the drive cannot be read or written, or its own sheet has a mistake.
    """
    worked = worked_out(store, store.decisions())
    store.replace_entries(worked.entries)
    return Settled(worked.entries, worked.issues)


def worked_out(store: DriveStore, decisions: Sequence[Decision]) -> Worked:
    """Work the whole drive out from its facts and these decisions, and change nothing.

    Raises:
        OdovoxError: the drive cannot be read, or its own sheet has a mistake.
    """
    with uncollected():
        return work_out(
            store.drive(),
            store.utterances(),
            store.latest_recognitions(),
            language=language_of(store),
            place_at=places_of(store),
            decisions=decisions,
        )


def language_of(store: DriveStore) -> Language:
    """Return what may be said on a drive, by its own sheet.

    Raises:
        OdovoxError: the drive cannot be read, or its own sheet has a mistake.
    """
    sheet = sheet_from(store.drive().sheet_toml, f"the sheet of {store.folder}").sheet
    return Language(sheet.phrasebook)


def reconcile_drive(folder: Path) -> tuple[Summary, tuple[Issue, ...]]:
    """Reconcile the drive in a folder; return what it holds then, and what is odd about its entries.

    Raises:
        OdovoxError: there is no drive in the folder, or it cannot be read or written.
    """
    with DriveStore.open(folder) as store:
        settled = settle(store)
        return summary_of(store), settled.issues


def summary_of(store: DriveStore) -> Summary:
    """Return what a drive holds now."""
    entries = store.entries()
    return Summary(
        calls=len({entry.utterance_id for entry in entries}),
        counts=dict(Counter(entry.status for entry in entries)),
        sound_issues=tuple(issue for issue in store.issues() if issue.code.startswith("sound_")),
    )
