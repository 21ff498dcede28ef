"""Kept sound is heard again: only what is missing, nothing old is lost, decisions stay, and what is odd is told."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import short_drives
from heard import LINES, Counting, Remembering
from short_drives import ShortDrive

from logger.core.utc import parse_utc_ns
from logger.errors import RecogniserError
from logger.model import Action, Decision, Entry, Hypothesis, Samples
from logger.sound.clips import write_clip
from logger.store import DriveStore
from logger.wiring.ingest import ingest
from logger.wiring.listening_again import HeardAgain, listen_again

CALLS = tuple(line for line in LINES if line)
OTHER = (*CALLS[:3], "checkpoint sixty two percent", *CALLS[4:])
"""What another recogniser hears: the fourth call without its trip."""


@pytest.fixture(scope="session")
def ingested(short_drive: ShortDrive, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A short drive, heard by "typed"; the third of its eight stretches has no call. Only to be copied."""
    folder = tmp_path_factory.mktemp("ingested") / "drive"
    ingest(
        folder,
        (short_drive.sound,),
        (short_drive.track,),
        started_utc_ns=(parse_utc_ns(short_drives.STARTED),),
        sheet_path=short_drive.sheet,
        choose=Counting().choose,
        listener=Remembering(),
    )
    return folder


@pytest.fixture
def folder(ingested: Path, tmp_path: Path) -> Path:
    """A copy of that drive."""
    return Path(shutil.copytree(ingested, tmp_path / "drive"))


def hear(
    folder: Path,
    lines: Iterable[str] = OTHER,
    *,
    name: str = "other",
    before: Callable[[int], None] | None = None,
    listener: Remembering | None = None,
) -> tuple[HeardAgain, Counting]:
    """Let another recogniser hear the drive; the same one goes on where it was stopped."""
    recogniser = Counting(lines, name=name, before=before)
    return listen_again(folder, choose=recogniser.choose, listener=listener or Remembering()), recogniser


def entries(folder: Path) -> dict[str, Entry]:
    """Return a drive's entries by id."""
    with DriveStore.open(folder, readonly=True) as store:
        return {entry.id: entry for entry in store.entries()}


def decide(folder: Path, action: Action, entry_id: str, quantity: str, value: str | None) -> Decision:
    """Keep a decision of Ada's."""
    number = None if value is None else Decimal(value)
    unit = {"charge": "%", "trip": "km"}[quantity]
    with DriveStore.open(folder) as store:
        return store.add_decision(Decision(0, 0, "Ada", action, entry_id, quantity, number, unit, None, ""))


def clips(folder: Path) -> list[Path]:
    """Return a drive's clips in order of time."""
    return sorted((folder / "clips").iterdir())


def codes(listener: Remembering) -> list[str]:
    """Return what was odd."""
    return [issue.code for issue in listener.issues]


def test_every_kept_clip_is_heard_once(folder: Path) -> None:
    """The newest answers make the log, the old ones stay stored; a stretch without kept sound is told."""
    before, listener = entries(folder), Remembering()

    heard, recogniser = hear(folder, listener=listener)

    assert len(CALLS) == recogniser.asked
    assert (7, 0, 0) == (heard.summary.calls, heard.unreadable, heard.astray)
    assert ["5-2"] == [name for name in before if name not in entries(folder)]
    with DriveStore.open(folder, readonly=True) as store:
        assert ("other", "typed") == store.recognisers()
        assert 8 == len(store.latest_recognitions("typed"))
        assert 7 == len(store.latest_recognitions("other"))
    assert "listening with other (for a test)" == listener.remarks[0]
    assert listener.remarks[1].startswith("1 stretches without a call have no kept sound")
    assert 7 == len(listener.steps) == listener.steps[-1].calls
    assert listener.steps[-1].done_s == pytest.approx(listener.steps[-1].total_s)


def test_the_very_same_sound_is_heard(folder: Path, short_drive: ShortDrive, tmp_path: Path) -> None:
    """The samples are those that ingesting gave the recogniser."""
    given: list[list[Samples]] = [[], []]

    class Keeping(Counting):
        def __init__(self, where: list[Samples]) -> None:
            super().__init__(name="keeping")
            self.where = where

        def recognise(self, samples: Samples) -> tuple[Hypothesis, ...]:
            self.where.append(samples)
            return super().recognise(samples)

    ingest(
        tmp_path / "anew",
        (short_drive.sound,),
        (),
        started_utc_ns=(0,),
        sheet_path=None,
        choose=Keeping(given[0]).choose,
        listener=Remembering(),
    )
    listen_again(folder, choose=Keeping(given[1]).choose, listener=Remembering())

    with_call = [samples for samples, line in zip(given[0], LINES, strict=True) if line]
    assert all(np.array_equal(*pair) for pair in zip(with_call, given[1], strict=True))


def test_again_nothing_is_heard(folder: Path) -> None:
    """A second run asks nothing and leaves the log as it is."""
    hear(folder)
    before = entries(folder)

    heard, recogniser = hear(folder)

    assert 0 == recogniser.asked
    assert 7 == heard.summary.calls
    assert before == entries(folder)


def test_stopped_it_keeps_what_was_heard_and_goes_on(folder: Path) -> None:
    """After Ctrl-C at the fifth clip the log is made of what was heard until then; a further run asks the other three."""

    def stop(asked: int) -> None:
        if asked == 4:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        hear(folder, before=stop)
    with DriveStore.open(folder, readonly=True) as store:
        assert 4 == len(store.latest_recognitions("other"))
    assert "5-2" not in entries(folder)

    _, recogniser = hear(folder, OTHER[4:])
    stopped = entries(folder)

    assert 3 == recogniser.asked
    shutil.rmtree(folder / "clips")  # nothing more is read
    assert stopped == (hear(folder)[0].summary.calls and entries(folder))


def test_a_broken_recogniser_loses_nothing(folder: Path) -> None:
    """Its error ends the run; the answers before it count."""

    def fail(asked: int) -> None:
        if asked == 4:
            raise RecogniserError("the model is gone")

    with pytest.raises(RecogniserError, match="gone"):
        hear(folder, before=fail)
    assert "5-2" not in entries(folder)


def test_clips_that_cannot_be_heard(folder: Path) -> None:
    """One is gone, one is no sound, one is cut short: each is one line that names it, and its old answer stays."""
    first, second, third, *_ = clips(folder)
    first.unlink()
    second.write_bytes(b"no sound")
    write_clip(third, np.ones(800, np.int16))
    before, listener = entries(folder), Remembering()

    heard, recogniser = hear(folder, ["checkpoint fifty percent"] * 4, listener=listener)

    assert 4 == recogniser.asked
    assert 3 == heard.unreadable
    assert heard.needs_human
    told = [issue.message for issue in listener.issues if issue.code == "clip_unreadable"]
    assert all(str(path) in line for path, line in zip((first, second, third), told, strict=True))
    assert all("\n" not in line and line.endswith("what was heard of it before stays") for line in told)
    now = entries(folder)
    assert [before[name].heard for name in ("1-1", "2-2", "4-2")] == [
        now[name].heard for name in ("1-1", "2-2", "4-2")
    ]


def test_an_utterance_that_names_no_clip(folder: Path) -> None:
    """As a drive may have that another program wrote."""
    with DriveStore.open(folder) as store:
        said = store.add_utterance(1, 5, 800, 0, "")
        (first, *_) = store.latest_recognitions()
        store.add_recognition(replace(first, utterance_id=said.id))
    listener = Remembering()

    heard, _ = hear(folder, listener=listener)

    assert 1 == heard.unreadable
    assert f"utterance {said.id} names no clip" in listener.issues[0].message


def test_decisions_stay(folder: Path) -> None:
    """A decided value, a rejected entry and an accepted one are as before, whoever listens."""
    decide(folder, Action.REPLACE, "1-2", "trip", "42.0")
    decide(folder, Action.REJECT, "2-1", "charge", None)
    decide(folder, Action.ACCEPT, "4-1", "charge", "63")
    listener = Remembering()

    heard, _ = hear(folder, listener=listener)

    assert [("corrected", "42.0"), ("rejected", "64"), ("accepted", "63")] == [
        (entry.status.value, str(entry.value))
        for entry in (entries(folder)[name] for name in ("1-2", "2-1", "4-1"))
    ]
    assert 0 == heard.astray
    assert [] == [code for code in codes(listener) if code.startswith("decision")]


def test_a_decision_whose_entry_is_gone(folder: Path) -> None:
    """A typed value stays as an entry of its own; a rejection that nothing is left of is told, and asks for a human."""
    decide(folder, Action.REPLACE, "5-2", "trip", "43.1")
    hear(folder)
    assert ("typed", "43.1") == (entries(folder)["5-2"].origin.value, str(entries(folder)["5-2"].value))

    decide(folder, Action.REJECT, "6-2", "trip", None)
    listener = Remembering()
    heard, _ = hear(
        folder,
        (*OTHER[:4], "checkpoint sixty two percent", *OTHER[5:]),
        name="third",
        listener=listener,
    )

    assert ["decision_orphan"] == [code for code in codes(listener) if code.startswith("decision")]
    assert 1 == heard.astray
    assert heard.needs_human
    assert 0 == hear(folder, name="third")[0].astray


def test_a_decision_whose_entry_became_another_quantity(folder: Path) -> None:
    """Where another recogniser hears the parts of a call in another order, a decision is told that may not fit any more."""
    kept = decide(folder, Action.REPLACE, "1-2", "trip", "42.0")
    decide(folder, Action.REPLACE, "2-2", "trip", "42.3")
    decide(folder, Action.REPLACE, "4-1", "trip", "42.8")
    listener = Remembering()
    swapped = "checkpoint forty two point one kilometers sixty four percent"
    fits_now = "checkpoint forty two point eight kilometers sixty three percent"

    heard, _ = hear(folder, (swapped, CALLS[1], fits_now, *CALLS[3:]), listener=listener)

    shifted = [issue.message for issue in listener.issues if issue.code == "decision_shifted"]
    assert 1 == len(shifted) == heard.astray
    assert shifted[0].startswith(f"decision {kept.id} was about 1-2 as trip, which is heard as charge now")
    assert heard.needs_human


def test_a_withdrawn_decision_is_not_missed(folder: Path) -> None:
    """What was undone is about nothing, so losing its entry needs no human."""
    kept = decide(folder, Action.REJECT, "5-2", "trip", None)
    with DriveStore.open(folder) as store:
        store.add_decision(replace(kept, action=Action.WITHDRAW, withdraws=kept.id))
    listener = Remembering()

    heard, _ = hear(folder, listener=listener)

    assert 0 == heard.astray
    assert [] == [code for code in codes(listener) if code.startswith("decision")]


def test_who_listened_later_counts(folder: Path) -> None:
    """An answer is stored once: asking the first recogniser again changes nothing, and that is told."""
    hear(folder)
    before, listener = entries(folder), Remembering()

    _, recogniser = hear(folder, name="typed", listener=listener)

    assert 0 == recogniser.asked
    assert before == entries(folder)
    assert "other listened after typed did, so those answers count" in listener.remarks
