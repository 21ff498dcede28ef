"""A stored drive is reconciled from its facts alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from heard import LINES

from logger.errors import StoreError
from logger.model import Drive, HeardWord, Hypothesis, Issue, Recognition, Status
from logger.store import DriveStore
from logger.wiring.reconciling import Summary, reconcile_drive, settle

NANO = 1_000_000_000


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A drive in which three calls were heard, and no track."""
    with DriveStore.create(tmp_path / "drive", Drive(0, 'units = "metric"\n')) as store:
        source = store.add_source("a.wav", "aa", 0)
        for number, line in enumerate(line for line in LINES[:4] if line):
            words = tuple(HeardWord(word, index * NANO // 2) for index, word in enumerate(line.split()))
            said = store.add_utterance(source.id, number * 160_000, 160_000, number * 10 * NANO, "")
            store.add_recognition(Recognition(said.id, "typed", (Hypothesis(0, words, 0.0),)))
    return tmp_path / "drive"


def test_entries_follow_from_the_facts(folder: Path) -> None:
    """Entries are made of what was heard, and made again the same."""
    summary, _ = reconcile_drive(folder)

    assert 3 == summary.calls
    with DriveStore.open(folder) as store:
        before = store.entries()
        assert ["charge", "trip"] * 3 == [entry.quantity for entry in before]
        assert settle(store).entries == before == store.entries()


def test_a_newer_answer_counts(folder: Path) -> None:
    """Another recogniser's answer replaces an older one's entries; the older answer stays stored."""
    reconcile_drive(folder)
    with DriveStore.open(folder) as store:
        words = tuple(HeardWord(word, 0) for word in ["checkpoint", "fifty", "nine", "percent"])
        store.add_recognition(Recognition(1, "other", (Hypothesis(0, words, 0.0),)))

    reconcile_drive(folder)

    with DriveStore.open(folder) as store:
        assert "fifty nine percent" == store.entries()[0].heard
        assert store.find_recognition(1, "typed") is not None


def test_who_is_needed() -> None:
    """A human is needed for a flagged entry, for odd sound, and where nothing was heard; else for nothing."""
    assert not Summary(2, {Status.ACCEPTED: 3}, ()).needs_human
    assert Summary(2, {Status.ACCEPTED: 3, Status.FLAGGED: 1}, ()).needs_human
    assert Summary(2, {Status.ACCEPTED: 3}, (Issue("sound_clipped", ""),)).needs_human
    assert Summary(0, {}, ()).needs_human


def test_no_drive_is_told(tmp_path: Path) -> None:
    """A folder without a drive is an error that names it."""
    with pytest.raises(StoreError, match="not a drive folder"):
        reconcile_drive(tmp_path)
