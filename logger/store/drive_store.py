"""A drive's store: facts are added and never changed, entries are replaced as a whole."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

from logger.core.fix_columns import FixColumns
from logger.errors import StoreError
from logger.model import (
    Alternative,
    Decision,
    Drive,
    Entry,
    Fix,
    Hypothesis,
    Issue,
    Recognition,
    Source,
    Utterance,
)
from logger.store import beside, connection, records, schema
from logger.store.beside import this_software
from logger.store.failures import believing, explaining

__all__ = ["DriveStore", "this_software"]

_Record = TypeVar("_Record")


class DriveStore:
    """The SQLite file of a drive folder. Made by `create`, `open` or `open_or_create`; a context manager.

    Every method that adds something is one transaction, or joins the one that `atomic` holds open. Adding a fact
    that is there already changes nothing and returns what is there, so an interrupted run can be run again. Every
    method may raise StoreError: in use, disk full, read-only, damaged.
    """

    def __init__(self, folder: Path, db: sqlite3.Connection, done: Callable[[], None] | None = None) -> None:
        self.folder = folder
        self._path = folder / connection.FILE_NAME
        self._db = db
        self._done = done

    @classmethod
    def create(cls, folder: Path, drive: Drive) -> Self:
        """Make a drive in a folder that has none; the folder is made too if need be.

        Raises:
            StoreError: there is a drive already, or the folder cannot be made or written.
        """
        store = cls(folder, connection.make(folder))
        try:
            with store.atomic():
                store._begin(drive)
            # Last: without a drive beside it, it would say that there was one.
            beside.write(folder, drive, this_software())
        except BaseException:
            store.close()
            raise
        return store

    @classmethod
    def open(cls, folder: Path, *, readonly: bool = False) -> Self:
        """Open a drive; `readonly` works also where nothing may be written, and writes nothing.

        Raises:
            StoreError: there is no drive, or it is damaged, of a newer format, or may not be opened.
        """
        if readonly:
            return cls(folder, *connection.open_for_reading(folder))
        store = cls(folder, connection.open_for_writing(folder))
        if beside.read(folder) is None:  # of an older odovox, or lost
            with suppress(StoreError):
                beside.write(folder, store.drive(), store.software())
        return store

    @classmethod
    def open_or_create(cls, folder: Path, drive: Drive) -> Self:
        """Open the drive in a folder, or make one there; an existing drive keeps its own row, not `drive`."""
        if connection.has_database(folder):
            with suppress(connection.NoDriveYetError):
                return cls.open(folder)
        return cls.create(folder, drive)

    def close(self) -> None:
        """Close the file; what is not committed is gone."""
        self._db.close()
        if self._done is not None:
            self._done()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @contextmanager
    def atomic(self) -> Iterator[None]:
        """Make all that is added inside one transaction: all of it is kept, or none if anything is raised.

        Inside another `atomic`, only its own part is undone when it raises and the outer one catches that.
        """
        outermost = not self._db.in_transaction
        with explaining(self._path):
            self._db.execute("BEGIN IMMEDIATE" if outermost else "SAVEPOINT part")
            try:
                yield
                self._db.execute("COMMIT" if outermost else "RELEASE part")
            except BaseException:
                # After a full disk SQLite has rolled back by itself, and there is nothing left to undo.
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK" if outermost else "ROLLBACK TO part")
                    if not outermost:
                        self._db.execute("RELEASE part")
                raise

    def drive(self) -> Drive:
        """Return the row about the drive itself."""
        return Drive(*self._select("began_utc_ns, sheet_toml", "drive")[0])

    def software(self) -> str:
        """Return the name and version of the program that made the drive."""
        return str(self._select("software", "drive")[0][0])

    # -- sound --

    def add_source(self, name: str, sha256: str, start_ns: int) -> Source:
        """Add a sound file that is being taken in; the same content at the same time is the same source."""
        with self.atomic():
            if found := self._source("sha256 = ? AND start_ns = ?", (sha256, start_ns)):
                return found
            number = self._insert("source (name, sha256, start_ns)", (name, sha256, start_ns))
        return Source(number, name, sha256, start_ns, None)

    def finish_source(self, source_id: int, sample_count: int) -> Source:
        """Note that a source has been taken in to its end, which is told only once.

        Raises:
            StoreError: it was finished before with another length, or there is no such source.
        """
        with self.atomic():
            source = self._source("id = ?", (source_id,))
            if source is None:
                raise StoreError(f"{self._path} has no sound source {source_id}")
            if source.sample_count == sample_count:
                return source
            if source.sample_count is not None:
                raise StoreError(
                    f"{source.name} was taken in before with {source.sample_count} samples and now has "
                    f"{sample_count}; ingest it into a new folder"
                )
            self._db.execute("UPDATE source SET sample_count = ? WHERE id = ?", (sample_count, source_id))
        return replace(source, sample_count=sample_count)

    def sources(self) -> tuple[Source, ...]:
        """Return the sound files in the order they were added."""
        rows = self._select(records.SOURCE, "source ORDER BY id")
        return self._made(records.source_of, rows)

    def add_utterance(
        self, source_id: int, first_sample: int, sample_count: int, start_ns: int, clip: str
    ) -> Utterance:
        """Add an utterance; one that begins at the same sample of the same source is the same, and returned."""
        with self.atomic():
            if found := self.find_utterance(source_id, first_sample):
                return found
            values = (source_id, first_sample, sample_count, start_ns, clip)
            number = self._insert("utterance (source_id, first_sample, sample_count, start_ns, clip)", values)
        return Utterance(number, *values)

    def find_utterance(self, source_id: int, first_sample: int) -> Utterance | None:
        """Return the utterance that begins at that sample of that source, if there is one."""
        rows = self._select(
            records.UTTERANCE,
            "utterance WHERE source_id = ? AND first_sample = ?",
            (source_id, first_sample),
        )
        return records.utterance_of(rows[0]) if rows else None

    def add_longer(self, utterance_id: int, longer_id: int) -> None:
        """Note that one utterance holds another from its beginning, which then counts no more."""
        with self.atomic():
            self._insert("longer (utterance_id, longer_id)", (utterance_id, longer_id))

    def utterances(self) -> tuple[Utterance, ...]:
        """Return the utterances by the time they began, but for those that a longer one holds."""
        rows = self._select(
            records.UTTERANCE,
            "utterance WHERE id NOT IN (SELECT utterance_id FROM longer) ORDER BY start_ns, id",
        )
        return self._made(records.utterance_of, rows)

    # -- what was heard --

    def add_recognition(self, recognition: Recognition) -> Recognition:
        """Add what a recogniser said about an utterance; its first answer stands and is returned."""
        with self.atomic():
            if found := self.find_recognition(recognition.utterance_id, recognition.recogniser):
                return found
            number = self._insert(
                "recognition (utterance_id, recogniser)", (recognition.utterance_id, recognition.recogniser)
            )
            answers = ((number, *records.hypothesis_row(answer)) for answer in recognition.hypotheses)
            self._insert_many(f"hypothesis (recognition_id, {records.HYPOTHESIS})", 5, answers)
        return recognition

    def find_recognition(self, utterance_id: int, recogniser: str) -> Recognition | None:
        """Return what that recogniser said about that utterance, if it was asked."""
        found = self._recognitions("utterance_id = ? AND recogniser = ?", (utterance_id, recogniser))
        return found[0] if found else None

    def latest_recognitions(self, recogniser: str | None = None) -> tuple[Recognition, ...]:
        """Return the newest recognition of each utterance (by one recogniser, if named), by utterance id."""
        newest = "SELECT max(id) FROM recognition WHERE ? IS NULL OR recogniser = ? GROUP BY utterance_id"
        return self._recognitions(f"id IN ({newest})", (recogniser, recogniser))

    def recognisers(self) -> tuple[str, ...]:
        """Return the names of all recognisers that were ever asked, in order of the alphabet."""
        return tuple(
            str(row[0]) for row in self._select("DISTINCT recogniser", "recognition ORDER BY recogniser")
        )

    # -- the track --

    def add_track_file(self, name: str, sha256: str, fixes: Iterable[Fix]) -> bool:
        """Add a track file with all its fixes; return False, adding nothing, when its content is there already."""
        with self.atomic():
            if self._select("id", "track_file WHERE sha256 = ?", (sha256,)):
                return False
            number = self._insert("track_file (name, sha256)", (name, sha256))
            rows = ((number, index, *records.fix_row(fix)) for index, fix in enumerate(fixes))
            self._insert_many(f"fix (track_file_id, number, {records.FIX})", 8, rows)
        return True

    def fixes(self) -> tuple[Fix, ...]:
        """Return the fixes of all track files, file by file, in the order written in them."""
        rows = self._select(records.FIX, "fix ORDER BY track_file_id, number")
        return self._made(records.fix_of, rows)

    def fix_columns(self) -> FixColumns:
        """Return the same fixes as columns, in a fraction of the time."""
        with explaining(self._path), believing(self._path):
            return records.fix_columns(
                self._db.execute(f"SELECT {records.FIX} FROM fix ORDER BY track_file_id, number")  # noqa: S608
            )

    def begin_track(self, name: str, key: str) -> int:
        """Begin a track that fixes are added to as they come; return its number.

        Args:
            name: where they come from.
            key: stands where a file has its content's hash; no other track has it.
        """
        with self.atomic():
            return self._insert("track_file (name, sha256)", (name, key))

    def add_fixes(self, track_id: int, first_number: int, fixes: Iterable[Fix]) -> None:
        """Add fixes to a track, numbered from `first_number` on."""
        with self.atomic():
            rows = ((track_id, index, *records.fix_row(fix)) for index, fix in enumerate(fixes, first_number))
            self._insert_many(f"fix (track_file_id, number, {records.FIX})", 8, rows)

    # -- people --

    def add_decision(self, decision: Decision) -> Decision:
        """Add a person's decision; return it with the id it got."""
        with self.atomic():
            columns = records.DECISION.removeprefix("id, ")
            number = self._insert(f"decision ({columns})", records.decision_row(decision))
        return replace(decision, id=number)

    def decisions(self) -> tuple[Decision, ...]:
        """Return all decisions in the order made."""
        rows = self._select(records.DECISION, "decision ORDER BY id")
        return self._made(records.decision_of, rows)

    def revision(self) -> str:
        """Return a text that is another one as soon as any fact that entries follow from was added."""
        columns = (
            "(SELECT count(*) FROM decision), (SELECT count(*) FROM recognition), (SELECT count(*) FROM utterance), "
            "(SELECT count(*) FROM longer), (SELECT count(*) FROM fix)"
        )
        return "-".join(str(count) for count in self._select(columns, "drive")[0])

    def add_issue(self, issue: Issue) -> None:
        """Add something odd; the same issue twice is one."""
        with self.atomic():
            values = (issue.code, issue.message)
            if not self._select("id", "issue WHERE code = ? AND message = ?", values):
                self._insert("issue (code, message)", values)

    def issues(self) -> tuple[Issue, ...]:
        """Return all issues in the order found."""
        return tuple(Issue(*row) for row in self._select("code, message", "issue ORDER BY id"))

    # -- what is made of it --

    def replace_entries(self, entries: Iterable[Entry]) -> None:
        """Put these entries in the place of all there are, in one transaction."""
        with self.atomic():
            self._db.execute("DELETE FROM entry")
            self._add_entries(entries)

    def replace_entries_of(self, utterance_ids: Iterable[int], entries: Iterable[Entry]) -> None:
        """Put these entries in the place of those of some utterances, behind all others, in one transaction."""
        with self.atomic():
            self._db.executemany(
                "DELETE FROM entry WHERE utterance_id = ?", [(each,) for each in utterance_ids]
            )
            self._add_entries(entries)

    def entries(self) -> tuple[Entry, ...]:
        """Return the entries in the order they were given."""
        alternatives: dict[int, list[Alternative]] = {}
        with believing(self._path), self._one_view():
            for number, *row in self._select(
                f"entry_number, {records.ALTERNATIVE}", "alternative ORDER BY entry_number, rank"
            ):
                alternatives.setdefault(number, []).append(records.alternative_of(tuple(row)))
            rows = self._select(f"number, {records.ENTRY}", "entry ORDER BY number")
            return tuple(records.entry_of(row[1:], tuple(alternatives.get(row[0], ()))) for row in rows)

    # -- inside --

    def _begin(self, drive: Drive) -> None:
        """Make the tables and the drive's row, unless another program did so since the file was looked at."""
        if schema.is_drive(self._db):
            raise StoreError(f"{self.folder} became a drive just now; open that one")
        schema.migrate(self._db)
        values = (1, drive.began_utc_ns, drive.sheet_toml, this_software())
        self._insert("drive (id, began_utc_ns, sheet_toml, software)", values)

    def _add_entries(self, entries: Iterable[Entry]) -> None:
        for entry in entries:
            number = self._insert(f"entry ({records.ENTRY})", records.entry_row(entry))
            rows = [
                (number, rank, *records.alternative_row(alternative))
                for rank, alternative in enumerate(entry.alternatives)
            ]
            self._insert_many(f"alternative (entry_number, rank, {records.ALTERNATIVE})", 6, rows)

    def _select(self, columns: str, rest: str, values: tuple[Any, ...] = ()) -> list[records.Row]:
        with explaining(self._path):
            # Only names written in this package are put into the text; values are bound.
            return self._db.execute(f"SELECT {columns} FROM {rest}", values).fetchall()  # noqa: S608

    def _made(
        self, record_of: Callable[[records.Row], _Record], rows: list[records.Row]
    ) -> tuple[_Record, ...]:
        with believing(self._path):
            return tuple(record_of(row) for row in rows)

    def _insert(self, table_and_columns: str, values: tuple[Any, ...]) -> int:
        marks = ", ".join("?" * len(values))
        cursor = self._db.execute(f"INSERT INTO {table_and_columns} VALUES ({marks})", values)  # noqa: S608
        return int(cursor.lastrowid or 0)

    def _insert_many(self, table_and_columns: str, width: int, rows: Iterable[records.Row]) -> None:
        marks = ", ".join("?" * width)
        self._db.executemany(f"INSERT INTO {table_and_columns} VALUES ({marks})", rows)  # noqa: S608

    def _source(self, condition: str, values: tuple[Any, ...]) -> Source | None:
        rows = self._select(records.SOURCE, f"source WHERE {condition}", values)
        return records.source_of(rows[0]) if rows else None

    def _recognitions(self, condition: str, values: tuple[Any, ...]) -> tuple[Recognition, ...]:
        with believing(self._path), self._one_view():
            rows = self._select(
                "id, utterance_id, recogniser", f"recognition WHERE {condition} ORDER BY utterance_id", values
            )
            answers: dict[int, list[Hypothesis]] = {row[0]: [] for row in rows}
            for number, *row in self._select(
                f"recognition_id, {records.HYPOTHESIS}",
                f"hypothesis JOIN recognition ON id = recognition_id WHERE {condition} ORDER BY recognition_id, rank",
                values,
            ):
                answers[number].append(records.hypothesis_of(tuple(row)))
        return tuple(Recognition(row[1], row[2], tuple(answers[row[0]])) for row in rows)

    @contextmanager
    def _one_view(self) -> Iterator[None]:
        """Read more than one table as they were at one moment, though another program may be writing."""
        if self._db.in_transaction:
            yield
            return
        with explaining(self._path):
            self._db.execute("BEGIN")
            try:
                yield
            finally:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
