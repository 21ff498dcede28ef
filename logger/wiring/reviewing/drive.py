"""A stored drive under review: looked at as it is now, and answered, each answer settled over the whole drive at once.

The page, the terminal and `odovox amend` all go through here. What was read is kept in memory for as long as the store's
revision stays; an answer names the revision that the person was looking at, and is refused where that is past, so that
nobody's work is overwritten unseen.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from grammar import Language
from logger.core.decided import about_id
from logger.core.deciding import Answer, Answering, Choices, Effect, doubts, effect
from logger.core.reconcile import Worked, work_out
from logger.core.rows import PlaceAt
from logger.core.trusting import Trust
from logger.errors import AnswerError, ChangedMeanwhileError, StoreError
from logger.model import Decision, Drive, Entry, Recognition, Source, Utterance
from logger.store import DriveStore
from logger.store.lock import recorder_of
from logger.wiring.log_table import places_on, track_of
from logger.wiring.reconciling import language_of
from logger.wiring.uncollected import uncollected

if TYPE_CHECKING:
    from logger.core.track import Track


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """What was taken in of a drive; the same until more is recorded or heard again."""

    drive: Drive
    utterances: tuple[Utterance, ...]
    recognitions: tuple[Recognition, ...]
    sources: tuple[Source, ...]
    language: Language
    track: Track | None

    @property
    def place_at(self) -> PlaceAt:
        """Where the car was at an instant of UTC."""
        return places_on(self.track)

    def work_out(self, decisions: Sequence[Decision], trust: Trust | None = None) -> Worked:
        """Work the whole drive out with these decisions; `trust` is what an earlier time learned of the same."""
        with uncollected():
            return work_out(
                self.drive,
                self.utterances,
                self.recognitions,
                language=self.language,
                place_at=self.place_at,
                decisions=decisions,
                trust=trust,
            )


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A drive as it is at one revision."""

    revision: str
    heard: Heard
    decisions: tuple[Decision, ...]
    worked: Worked

    @property
    def entries(self) -> tuple[Entry, ...]:
        """All entries, in the order of the drive."""
        return self.worked.entries

    @property
    def doubts(self) -> tuple[Entry, ...]:
        """Those in doubt."""
        return doubts(self.entries)

    def entry(self, entry_id: str) -> Entry | None:
        """Return an entry by its id."""
        return next((entry for entry in self.entries if entry.id == entry_id), None)


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """What an answer came to: the decisions stored, the drive after it, and what became of other entries."""

    decisions: tuple[Decision, ...]
    about: tuple[str, ...]
    view: View
    effect: Effect


class ReviewedDrive:
    """The drive in a folder, under review by one person. Threads may share it.

    Args:
        folder: the drive's folder.
        who: whom decisions name.

    Raises:
        StoreError: there is no drive in the folder, or it cannot be read.
    """

    def __init__(self, folder: Path, who: str) -> None:
        self.folder, self.who = folder, who
        self._lock = threading.RLock()
        self._heard: tuple[str, Heard] | None = None
        self._trust: Trust | None = None
        self._view: View | None = None
        if self.blocked() is None:
            # An older odovox may have made the entries: what an answer changes is to be told from what an update does.
            with DriveStore.open(folder) as store:
                entries = self._view_of(store).entries
                if store.entries() != entries:
                    store.replace_entries(entries)

    def blocked(self) -> str | None:
        """Return why nothing can be decided now, in one line; None where something can."""
        recorder = recorder_of(self.folder)
        if recorder is not None:
            return f"this drive is being recorded just now ({recorder}): look and listen, and decide when it has ended"
        try:
            DriveStore.open(self.folder).close()
        except StoreError as error:
            if self._readable():
                return str(error)
            raise
        return None

    def look(self) -> View:
        """Return the drive as it is now.

        Raises:
            OdovoxError: it cannot be read.
        """
        with self._lock, DriveStore.open(self.folder, readonly=True) as store:
            return self._view_of(store)

    def answer(self, answer: Answer, *, revision: str | None = None, why: str = "") -> Settled | Choices:
        """Store what a person answers, settle the whole drive by it, and return what that did; or what it may mean.

        Args:
            answer: the answer.
            revision: of the view that the person was looking at; None where nobody looked and any will do.
            why: the person's reason.

        Raises:
            ChangedMeanwhileError: the drive is not as at that revision.
            AnswerError: the answer cannot be given, or the drive is being recorded.
            OdovoxError: the drive cannot be read or written.
        """
        if (reason := self.blocked()) is not None:
            raise AnswerError(reason)
        with self._lock, DriveStore.open(self.folder) as store:
            try:
                with store.atomic():
                    return self._answered(store, answer, revision, why)
            except BaseException:
                # What was worked out belongs to a revision that was not stored, and that another's answer may become.
                self._view = None
                raise

    def _answered(
        self, store: DriveStore, answer: Answer, revision: str | None, why: str
    ) -> Settled | Choices:
        before = self._view_of(store)
        if revision is not None and revision != before.revision:
            raise ChangedMeanwhileError(_meanwhile(before, revision))
        understood = Answering(
            before.entries, before.decisions, before.heard.language, self.who, time.time_ns(), why
        ).decide(answer)
        if isinstance(understood, Choices):
            return understood
        stored = tuple(store.add_decision(decision) for decision in understood)
        after = self._view_of(store)
        store.replace_entries(after.entries)
        about = tuple(about_id(decision) for decision in stored)
        return Settled(stored, about, after, effect(before.entries, after.entries, about))

    def _view_of(self, store: DriveStore) -> View:
        revision = store.revision()
        if self._view is None or self._view.revision != revision:
            heard, decisions = self._heard_of(store, revision), store.decisions()
            worked = heard.work_out(decisions, self._trust)
            self._trust = worked.trust
            self._view = View(revision, heard, decisions, worked)
        return self._view

    def _heard_of(self, store: DriveStore, revision: str) -> Heard:
        # A revision begins with the number of decisions, which change nothing of what was heard.
        key = revision.partition("-")[2]
        if self._heard is None or self._heard[0] != key:
            heard = Heard(
                store.drive(),
                store.utterances(),
                store.latest_recognitions(),
                store.sources(),
                language_of(store),
                track_of(store),
            )
            self._heard, self._trust = (key, heard), None
        return self._heard[1]

    def _readable(self) -> bool:
        try:
            DriveStore.open(self.folder, readonly=True).close()
        except StoreError:
            return False
        return True


def _meanwhile(now: View, revision: str) -> str:
    """Tell what has happened since a revision."""
    seen = revision.partition("-")[0]
    newer = now.decisions[int(seen) :] if seen.isdecimal() and len(seen) < 10 else ()
    what = "more of the drive was taken in meanwhile"
    if newer:
        what = f"{newer[-1].who} has decided about entry {about_id(newer[-1])} meanwhile"
    return f"{what}; nothing of yours was stored: look again, then answer again"
