"""An entry of a stored drive is explained from its facts, and nothing is written."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from heard import LINES

from logger.errors import OdovoxError
from logger.model import Action, Decision, Drive, HeardWord, Hypothesis, Recognition
from logger.store import DriveStore
from logger.wiring.explaining import account_of
from logger.wiring.reconciling import settle

NANO = 1_000_000_000


def decision(action: Action, entry_id: str, *, at_ns: int | None = None) -> Decision:
    """A charge of 59 %, typed by Ada."""
    return Decision(0, 0, "Ada", action, entry_id, "charge", Decimal(59), "%", at_ns, "")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A reconciled drive in which three calls and a note were heard, with one clip and no track."""
    folder = tmp_path / "drive"
    with DriveStore.create(folder, Drive(0, 'units = "metric"\n')) as store:
        source = store.add_source("a.wav", "aa", 0)
        for number, line in enumerate((LINES[0], LINES[3], LINES[4], LINES[7])):
            words = tuple(HeardWord(word, index * NANO // 2) for index, word in enumerate(line.split()))
            start, clip = number * 10 * NANO, f"clips/{number}.flac"
            said = store.add_utterance(source.id, number * 160_000, 160_000, start, clip)
            store.add_recognition(Recognition(said.id, "typed", (Hypothesis(0, words, 0.0),)))
        settle(store)
    (folder / "clips").mkdir()
    (folder / "clips" / "0.flac").touch()
    return folder


def test_a_reading(folder: Path) -> None:
    """The entry of the log, when and by whom it was heard, its sound if that is there, and its weighing."""
    first, second = account_of(folder, "1-1"), account_of(folder, "2-1")

    assert first.logged
    assert first.entry == first.now
    assert first.entry.at_ns == first.at_utc_ns
    assert first.place is None
    assert ("clips/0.flac", "") == (first.clip, second.clip)
    assert "typed" == first.explanation.recogniser
    assert first.explanation.weighing is not None
    assert first.entry.confidence == round(first.explanation.weighing.possibilities[0].probability, 4)


def test_a_note(folder: Path) -> None:
    """It has answers and no weighing."""
    explanation = account_of(folder, "4-1").explanation

    assert ["note headwind"] == [each.text for each in explanation.answers]
    assert explanation.weighing is None


def test_nothing_is_written(folder: Path) -> None:
    """A newer answer shows in what would be now; log and database stay as they were."""
    with DriveStore.open(folder) as store:
        words = tuple(HeardWord(word, 0) for word in ["checkpoint", "sixty", "three", "percent"])
        store.add_recognition(Recognition(1, "other", (Hypothesis(0, words, 0.0),)))
        before = store.entries()
    content = (folder / "drive.sqlite").read_bytes()

    account, gone = account_of(folder, "1-1"), account_of(folder, "1-2")

    assert ("64", "63") == (str(account.entry.value), str(account.now and account.now.value))
    assert "other" == account.explanation.recogniser
    assert gone.logged
    assert gone.now is None
    assert content == (folder / "drive.sqlite").read_bytes()
    with DriveStore.open(folder) as store:
        assert before == store.entries()


def test_what_is_not_in_the_log_yet(folder: Path) -> None:
    """An entry that reconciling would make is explained, and told from a logged one."""
    with DriveStore.open(folder) as store:
        store.replace_entries(())
    account = account_of(folder, "1-1")

    assert not account.logged
    assert account.entry == account.now


def test_a_decided_reading(folder: Path) -> None:
    """The log has what was decided; the weighing is that without the decision."""
    before = account_of(folder, "2-1").explanation.weighing
    with DriveStore.open(folder) as store:
        kept = store.add_decision(decision(Action.REPLACE, "2-1"))
        settle(store)
    account = account_of(folder, "2-1")

    assert "59" == str(account.entry.value)
    assert (kept,) == account.explanation.decisions
    assert before == account.explanation.weighing


def test_an_added_entry(folder: Path) -> None:
    """It has its decision, and nothing of the sound nearby."""
    with DriveStore.open(folder) as store:
        kept = store.add_decision(decision(Action.ADD, "", at_ns=NANO))
        settle(store)
    account = account_of(folder, f"added-{kept.id}")

    assert "" == account.clip
    assert ("", (), None, (kept,)) == (
        account.explanation.recogniser,
        account.explanation.answers,
        account.explanation.weighing,
        account.explanation.decisions,
    )


def test_a_decision_without_its_entry(folder: Path) -> None:
    """The value it keeps has no weighing, but what is heard of its call is told."""
    with DriveStore.open(folder) as store:
        store.add_decision(decision(Action.REPLACE, "2-7"))
        settle(store)
    account = account_of(folder, "2-7")

    assert account.explanation.weighing is None
    assert 1 == len(account.explanation.answers)
    assert 1 == len(account.explanation.decisions)


@pytest.mark.parametrize(("wrong", "hint"), [("2.2", "did you mean 2-2?"), ("charge", "shows")])
def test_an_unknown_entry_is_told(folder: Path, wrong: str, hint: str) -> None:
    """One line that says how ids look, and names a near one."""
    with pytest.raises(OdovoxError, match="such as 12-2") as caught:
        account_of(folder, wrong)

    assert str(caught.value).endswith(hint)
    assert "\n" not in str(caught.value)
