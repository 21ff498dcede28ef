"""What is put into a drive comes back as it was, nothing is doubled, and facts cannot be changed."""

from __future__ import annotations

import sqlite3
import stat
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from logger.core.fix_columns import FixColumns
from logger.errors import StoreError
from logger.model import (
    Action,
    Alternative,
    Decision,
    Drive,
    Entry,
    Fix,
    HeardWord,
    Hypothesis,
    Issue,
    Origin,
    Recognition,
    Status,
)
from logger.store import DriveStore

DRIVE = Drive(began_utc_ns=1_935_562_800_123_456_789, sheet_toml='lead = "checkpoint"\n')
WORDS = (HeardWord("sixty", 0, 400_000_000, 0.98), HeardWord("three", 400_000_000, 710_000_001, None))
RECOGNITION = Recognition(
    1,
    "pocketsphinx en-us",
    (Hypothesis(0, WORDS, -1234.5678), Hypothesis(1, (HeardWord("sixty"),), None)),
)
FIXES = (
    Fix(1_935_562_801_000_000_000, 47.123456789012345, -8.1, 431.5, 29.06, 0.9),
    Fix(1_935_562_800_000_000_000, -47.0, 8.25),
)
ENTRY = Entry(
    id="1-1",
    utterance_id=1,
    at_ns=12_345_678_901,
    quantity="charge",
    value=Decimal("63.0"),
    unit="%",
    status=Status.FLAGGED,
    confidence=0.62,
    origin=Origin.REPAIRED,
    heard="sixty three percent",
    note="",
    reason="It rose by two since the last one.",
    alternatives=(
        Alternative(Decimal(53), "%", "fifty three percent", 0.3),
        Alternative(Decimal("-0.50"), "%", "minus point five oh", 0.001),
    ),
)
DECISION = Decision(
    0, 1_935_600_000_000_000_000, "Ada", Action.REPLACE, "1-1", "charge", Decimal("61.0"), "%", None, "clip"
)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[DriveStore]:
    """An empty drive."""
    with DriveStore.create(tmp_path / "drive", DRIVE) as made:
        yield made


@pytest.fixture
def spoken(store: DriveStore) -> DriveStore:
    """A drive with one source and one utterance, both with id 1."""
    source = store.add_source("lap.wav", "ab" * 32, 5_000_000_000)
    store.add_utterance(source.id, 16_000, 32_000, 6_000_000_000, "clips/1.flac")
    return store


def filled(store: DriveStore) -> None:
    """Put one of everything into a drive that has an utterance 1."""
    store.add_recognition(RECOGNITION)
    store.add_track_file("lap.gpx", "cd" * 32, FIXES)
    store.add_decision(DECISION)
    store.add_issue(Issue("track-gap", "no fix for 95 s"))
    store.replace_entries([ENTRY])


def test_everything_comes_back(spoken: DriveStore) -> None:
    """Every record survives closing and opening, to the last nanosecond, digit and float."""
    filled(spoken)
    spoken.close()

    with DriveStore.open(spoken.folder) as again:
        assert DRIVE == again.drive()
        assert [(1, "lap.wav", "ab" * 32, 5_000_000_000, None)] == [
            (source.id, source.name, source.sha256, source.start_ns, source.sample_count)
            for source in again.sources()
        ]
        assert again.find_utterance(1, 16_000) == again.utterances()[0]
        assert (RECOGNITION,) == again.latest_recognitions()
        assert FIXES == again.fixes()
        assert (replace(DECISION, id=1),) == again.decisions()
        assert (Issue("track-gap", "no fix for 95 s"),) == again.issues()
        assert (ENTRY,) == again.entries()
        assert "63.0" == str(again.entries()[0].value)
        assert again.software().startswith("odovox")


def test_nothing_is_doubled(spoken: DriveStore) -> None:
    """Adding the same source, utterance, recognition, track file or issue again changes nothing."""
    filled(spoken)
    before = list(spoken_dump(spoken))

    source = spoken.add_source("renamed.wav", "ab" * 32, 5_000_000_000)
    utterance = spoken.add_utterance(1, 16_000, 99, 7, "other.flac")
    recognition = spoken.add_recognition(Recognition(1, "pocketsphinx en-us", ()))

    assert (1, "lap.wav") == (source.id, source.name)
    assert (1, 32_000, "clips/1.flac") == (utterance.id, utterance.sample_count, utterance.clip)
    assert RECOGNITION == recognition
    assert spoken.add_track_file("copy.gpx", "cd" * 32, FIXES) is False
    spoken.add_issue(Issue("track-gap", "no fix for 95 s"))
    assert before == list(spoken_dump(spoken))


def spoken_dump(store: DriveStore) -> Iterator[str]:
    """Everything in the file, as SQL."""
    db = sqlite3.connect(store.folder / "drive.sqlite")
    try:
        yield from list(db.iterdump())
    finally:
        db.close()


def test_the_same_sound_at_another_time_is_another_source(store: DriveStore) -> None:
    """A recording may be taken in twice with two start times, and the two are kept apart."""
    assert [1, 2] == [store.add_source("lap.wav", "ab" * 32, start).id for start in (0, 1)]


def test_a_source_is_finished_once(spoken: DriveStore) -> None:
    """Its length may be told once; the same again is fine, another one is refused in one line."""
    assert 320_000 == spoken.finish_source(1, 320_000).sample_count
    assert spoken.sources()[0] == spoken.finish_source(1, 320_000)
    with pytest.raises(
        StoreError, match=r"^lap.wav was taken in before with 320000 samples and now has 5; .+$"
    ):
        spoken.finish_source(1, 5)
    with pytest.raises(StoreError, match="no sound source 9"):
        spoken.finish_source(9, 5)


def test_the_newest_recognition_counts(spoken: DriveStore) -> None:
    """After another recogniser was run, its answer is the latest, and each can be asked for by name."""
    other = Recognition(1, "vosk small", ())
    spoken.add_recognition(RECOGNITION)
    spoken.add_recognition(other)
    spoken.add_utterance(1, 90_000, 16_000, 9_000_000_000, "clips/2.flac")
    late = spoken.add_recognition(replace(RECOGNITION, utterance_id=2))

    assert (other, late) == spoken.latest_recognitions()
    assert (RECOGNITION, late) == spoken.latest_recognitions("pocketsphinx en-us")
    assert other == spoken.find_recognition(1, "vosk small")
    assert spoken.find_recognition(2, "vosk small") is None
    assert () == spoken.latest_recognitions("nobody")
    assert ("pocketsphinx en-us", "vosk small") == spoken.recognisers()


def test_entries_are_replaced_as_a_whole(spoken: DriveStore) -> None:
    """A new set of entries leaves nothing of the old one, and keeps the order it was given in."""
    spoken.replace_entries([ENTRY])
    new = [replace(ENTRY, id="1-2", alternatives=()), replace(ENTRY, value=None, status=Status.REJECTED)]
    spoken.replace_entries(new)

    assert tuple(new) == spoken.entries()
    spoken.replace_entries([])
    assert () == spoken.entries()


def test_a_failed_replacement_keeps_the_old_entries(spoken: DriveStore) -> None:
    """When one of the new entries cannot be kept, all of the old ones are still there."""
    spoken.replace_entries([ENTRY])
    with pytest.raises(StoreError, match="FOREIGN KEY"):
        spoken.replace_entries([replace(ENTRY, id="9-1"), replace(ENTRY, id="9-2", utterance_id=9)])

    assert (ENTRY,) == spoken.entries()


def add_and_fail(store: DriveStore, issue: Issue) -> None:
    """Add an issue in a transaction that then fails."""
    with store.atomic():
        store.add_issue(issue)
        raise RuntimeError


def test_atomic_is_all_or_nothing(spoken: DriveStore) -> None:
    """What is raised inside `atomic` undoes all of it; a part caught inside undoes only that part."""
    with pytest.raises(RuntimeError):
        add_and_fail(spoken, Issue("a", "gone"))
    with spoken.atomic():
        spoken.add_issue(Issue("b", "kept"))
        with pytest.raises(RuntimeError):
            add_and_fail(spoken, Issue("c", "gone"))
        with pytest.raises(StoreError):
            spoken.add_utterance(99, 0, 1, 0, "no such source")
        spoken.add_issue(Issue("d", "kept"))

    assert ["b", "d"] == [issue.code for issue in spoken.issues()]


FACTS = (
    "drive",
    "source",
    "utterance",
    "recognition",
    "hypothesis",
    "track_file",
    "fix",
    "decision",
    "issue",
)


@pytest.mark.parametrize("table", FACTS)
@pytest.mark.parametrize(
    "sql",
    [
        "DELETE FROM {t}",
        "UPDATE {t} SET {c} = {c}",
        "INSERT OR REPLACE INTO {t} SELECT * FROM {t}",
        "REPLACE INTO {t} SELECT * FROM {t} LIMIT 1",
    ],
)
def test_facts_cannot_be_changed_by_any_program(spoken: DriveStore, table: str, sql: str) -> None:
    """Deleting, updating and replacing a fact fail through a plain SQLite connection with its default settings."""
    filled(spoken)
    spoken.finish_source(1, 320_000)
    before = list(spoken_dump(spoken))
    db = sqlite3.connect(spoken.folder / "drive.sqlite")
    column = [row[1] for row in db.execute(f"PRAGMA table_info({table})")][-1]

    with pytest.raises(sqlite3.IntegrityError, match=f"{table} is append-only"):
        db.execute(sql.format(t=table, c=column))
    db.close()
    assert before == list(spoken_dump(spoken))


@pytest.mark.parametrize(
    "change",
    [
        "name = 'x'",
        "sha256 = 'x', sample_count = 1",
        "start_ns = 0, sample_count = 1",
        "sample_count = NULL",
        "id = 7",
    ],
)
def test_only_the_length_of_a_source_may_be_filled_in(spoken: DriveStore, change: str) -> None:
    """While its length is unknown, nothing else about a source can change with or without it."""
    db = sqlite3.connect(spoken.folder / "drive.sqlite")

    with pytest.raises(sqlite3.IntegrityError, match="source is append-only"):
        db.execute(f"UPDATE source SET {change}")
    db.close()


def test_an_impossible_value_is_refused(spoken: DriveStore) -> None:
    """No number at all cannot have been said, and is a programmer's mistake."""
    with pytest.raises(ValueError, match="NaN"):
        spoken.replace_entries([replace(ENTRY, value=Decimal("NaN"))])


def test_only_the_owner_may_look(tmp_path: Path) -> None:
    """The folder is made with mode 0700, and the database and the files beside it with 0600."""
    with DriveStore.create(tmp_path / "deep" / "drive", DRIVE) as store:
        modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in store.folder.iterdir()}

        assert 0o700 == stat.S_IMODE(store.folder.stat().st_mode)
        expected = ("drive.json", "drive.sqlite", "drive.sqlite-shm", "drive.sqlite-wal")
        assert dict.fromkeys(expected, 0o600) == modes


def test_commits_reach_the_disk(store: DriveStore) -> None:
    """The file is in WAL mode, and this connection syncs at each commit (2 is FULL in SQLite's manual)."""
    db = store._db  # noqa: SLF001  (the setting belongs to this very connection)

    assert ("wal", 2, 1) == tuple(
        db.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous", "foreign_keys")
    )


def test_open_or_create(tmp_path: Path) -> None:
    """It makes a drive where there is none and opens the one that is there, whose own row stands."""
    with DriveStore.open_or_create(tmp_path / "drive", DRIVE) as store:
        store.add_issue(Issue("a", "b"))
    with DriveStore.open_or_create(tmp_path / "drive", Drive(0, "")) as store:
        assert DRIVE == store.drive()
        assert (Issue("a", "b"),) == store.issues()


def test_a_folder_that_is_there_keeps_its_files_and_mode(tmp_path: Path) -> None:
    """A drive may be made in a folder of the user's, which is not locked against others behind their back."""
    (tmp_path / "notes.txt").write_text("mine")
    tmp_path.chmod(0o755)
    DriveStore.create(tmp_path, DRIVE).close()

    assert ("mine", 0o755) == ((tmp_path / "notes.txt").read_text(), stat.S_IMODE(tmp_path.stat().st_mode))


def test_a_longer_utterance_stands_for_the_one_it_holds(spoken: DriveStore) -> None:
    """The shorter one counts no more, and stays: told once, and never changed or taken back."""
    filled(spoken)
    longer = spoken.add_utterance(1, 15_840, 48_000, 1_000_000_000, "clips/2.flac")
    spoken.add_longer(1, longer.id)

    assert (longer,) == spoken.utterances()
    assert spoken.find_utterance(1, 16_000) is not None
    with pytest.raises(StoreError, match="append-only"):
        spoken.add_longer(1, longer.id)
    db = sqlite3.connect(spoken.folder / "drive.sqlite")
    for sql in (
        "DELETE FROM longer",
        "UPDATE longer SET longer_id = 9",
        "INSERT OR REPLACE INTO longer VALUES (1, 9)",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            db.execute(sql)
    db.close()


def test_fixes_as_columns(spoken: DriveStore) -> None:
    """The columns hold the very numbers of the fixes, NaN for what is not there; a drive without a track has none."""
    spoken.add_track_file("a.gpx", "ab", FIXES)
    columns, expected = spoken.fix_columns(), FixColumns.of(spoken.fixes())

    assert len(FIXES) == len(columns)
    for name in ("utc_ns", "lat_deg", "lon_deg", "altitude_m", "speed_mps", "hdop"):
        assert getattr(expected, name).tobytes() == getattr(columns, name).tobytes()


def test_a_drive_without_fixes_has_empty_columns(store: DriveStore) -> None:
    """No track, no rows."""
    assert 0 == len(store.fix_columns())


def test_fixes_as_they_come(store: DriveStore) -> None:
    """A live track grows; its fixes come back in the order they came, behind those of other tracks before it."""
    track_id = store.begin_track("gpsd at localhost:2947", "live-1")
    store.add_fixes(track_id, 0, FIXES)
    store.add_fixes(track_id, len(FIXES), FIXES[:1])

    assert (*FIXES, FIXES[0]) == store.fixes()
    with pytest.raises(StoreError):
        store.add_fixes(track_id, 1, FIXES[:1])  # that number is taken
    with pytest.raises(StoreError):
        store.begin_track("gpsd at localhost:2947", "live-1")


def test_entries_of_some_utterances_are_replaced(spoken: DriveStore) -> None:
    """The others' stay as they are, alternatives too, and the new ones come behind them."""
    filled(spoken)
    second = spoken.add_utterance(1, 64_000, 32_000, 9_000_000_000, "clips/3.flac")
    other = replace(ENTRY, id="2-1", utterance_id=second.id)
    spoken.replace_entries_of([second.id], [other])
    assert (ENTRY, other) == spoken.entries()

    changed = replace(other, status=Status.REJECTED, alternatives=())
    spoken.replace_entries_of([second.id], [changed])
    assert (ENTRY, changed) == spoken.entries()
