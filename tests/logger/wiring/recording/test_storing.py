"""A live call in the store: whole, once, and as it stands now, whatever came before and whatever goes wrong."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from called_drives import BEGAN, LANGUAGE, answers, steady

from logger.core.live import WINDOW, LiveReconciler
from logger.core.live_cut import Answered, Cut, Due, HeardCut
from logger.errors import StoreError
from logger.model import RATE_HZ, Drive, Status
from logger.sound.clips import read_clip
from logger.store import DriveStore
from logger.wiring.reconciling import settle
from logger.wiring.recording.asked import Heard
from logger.wiring.recording.storing import Answering

S = 1_000_000_000


@pytest.fixture
def store(tmp_path: Path) -> Iterator[DriveStore]:
    """A drive with a live source."""
    with DriveStore.create(tmp_path / "drive", Drive(BEGAN, "")) as made:
        made.add_source("microphone 'Visor'", "", 0)
        yield made


@pytest.fixture
def answering(store: DriveStore) -> Answering:
    """What is tested."""
    return Answering(store, LiveReconciler(Drive(BEGAN, ""), LANGUAGE, steady))


def heard(
    at_s: float, *lines: str, length_s: float = 2.0, call: Answered | None = None, early: bool = False
) -> Heard:
    """What was heard in a cut at a second of the drive: early by the quicker recogniser, else by both."""
    samples = np.full(round(length_s * RATE_HZ), 7, np.int16)
    first = round(at_s * RATE_HZ)
    due, recogniser = (Due.EARLY, "typed quick") if early else (Due.WHOLE, "typed both")
    cut = Cut(first, samples, 0, due, first + len(samples), call=call or Answered())
    return Heard(1, HeardCut(cut, answers(*lines), recogniser, for_good=not early))


def take(answering: Answering, *calls: Heard) -> list[int | None]:
    """Give calls; return how many entries each was answered by, None where nothing changed."""
    answered = [answering.answer(each, each.what.cut.first_sample * S // RATE_HZ) for each in calls]
    return [None if each is None else len(each) for each in answered]


def values(store: DriveStore) -> list[str]:
    """The values of the drive's entries, those that stand no more in brackets."""
    return [
        f"({entry.value})" if entry.status is Status.REJECTED else str(entry.value)
        for entry in store.entries()
    ]


def test_facts_entries_and_clip(store: DriveStore, answering: Answering) -> None:
    """A call is there whole when it is answered, and reconciling the drive finds the same."""
    assert [1, None] == take(answering, heard(10, "checkpoint sixty three percent"), heard(20))
    ((called, silent), (entry,)) = store.utterances(), store.entries()

    assert (10 * RATE_HZ, 2 * RATE_HZ, 10 * S) == (called.first_sample, called.sample_count, called.start_ns)
    assert 2 * RATE_HZ == len(read_clip(store.folder / called.clip))
    assert not (store.folder / silent.clip).exists()
    settle(store)
    assert (entry,) == store.entries()


def test_those_who_are_believed_hear_an_early_answer_again(store: DriveStore, answering: Answering) -> None:
    """Of the same sound there is one utterance and one clip, with what each heard; the entry is that of the last."""
    call = Answered()
    quickly = heard(10, "checkpoint sixty three percent", call=call, early=True)
    for_good = heard(10, "checkpoint sixty two percent", call=call)

    assert [1, 1, None] == take(answering, quickly, for_good, for_good)
    assert 1 == len(store.utterances()) == len(list((store.folder / "clips").iterdir()))
    assert {"typed quick", "typed both"} == set(store.recognisers())
    assert ["62"] == values(store)
    settle(store)
    assert ["62"] == values(store)


def test_the_end_of_the_voice_judged_a_little_later_is_the_same_call(
    store: DriveStore, answering: Answering
) -> None:
    """Three hundredths of a second more of the same sound are no second utterance; half a second more are."""
    call = Answered()
    take(answering, heard(10, "checkpoint sixty three percent", call=call, early=True))

    assert [1] == take(answering, heard(10, "checkpoint sixty two percent", length_s=2.03, call=call))
    assert (1, ["62"]) == (len(store.utterances()), values(store))
    assert [1] == take(answering, heard(10, "checkpoint sixty one percent", length_s=2.5, call=call))
    assert (2, ["61"]) == (len(store.recognisers()), values(store))
    assert [1] == [each.id - 1 for each in store.utterances()]


def test_a_quick_answer_that_is_not_sure_waits(store: DriveStore, answering: Answering) -> None:
    """Nothing of it is kept; the one that comes next is answered, doubtful or not."""
    call = Answered()
    take(answering, heard(10, "checkpoint sixty three percent"))
    rising = ("checkpoint ninety percent", "checkpoint nineteen percent")

    assert [None] == take(answering, heard(20, *rising, call=call, early=True))
    assert (1, ["63"]) == (len(store.utterances()), values(store))
    assert 1 == len(list((store.folder / "clips").iterdir()))
    assert [1] == take(answering, heard(20, *rising, call=call))
    assert [Status.ACCEPTED, Status.FLAGGED] == [entry.status for entry in store.entries()]


def test_an_early_answer_is_taken_back(store: DriveStore, answering: Answering) -> None:
    """Where those who are believed hear no call in the same sound, what it corrected stands again; its sound is kept."""
    call = Answered()
    early = heard(20, "correction sixty two percent", call=call, early=True)

    assert [1, 1] == take(answering, heard(10, "checkpoint sixty three percent"), early)
    assert ["(63)", "62"] == values(store)
    assert [0] == take(answering, heard(20, call=call))
    assert ["63"] == values(store)
    assert (store.folder / store.utterances()[1].clip).exists()
    settle(store)
    assert ["63"] == values(store)


def test_a_call_that_goes_on_takes_the_place_of_its_beginning(
    store: DriveStore, answering: Answering
) -> None:
    """Both readings are in the longer one; the shorter one counts no more, live and reconciled."""
    call = Answered()
    first = heard(10, "checkpoint sixty three percent", call=call, early=True)
    second = heard(10, "checkpoint sixty three percent forty two point one miles", length_s=4.0, call=call)

    assert [1, 2] == take(answering, first, second)
    live = store.entries()
    settle(store)
    assert ["63", "42.1"] == values(store)
    assert [entry.id for entry in live] == [entry.id for entry in store.entries()]
    assert [2] == [utterance.id for utterance in store.utterances()]


@pytest.mark.parametrize("lines", [(), ("[unk] percent",)])
def test_talk_after_a_call_does_not_undo_it(
    store: DriveStore, answering: Answering, lines: tuple[str, ...]
) -> None:
    """Where the longer cut is no call any more, the early answer stays."""
    call = Answered()
    first = heard(10, "checkpoint sixty three percent", call=call, early=True)

    assert [1, None] == take(answering, first, heard(10, *lines, length_s=5.0, call=call))
    assert ["63"] == values(store)
    assert 1 == len(store.utterances())


def test_a_correction_changes_what_it_corrects(store: DriveStore, answering: Answering) -> None:
    """The older entry is rejected in the store at once, not only at the end of the drive."""
    take(answering, heard(10, "checkpoint sixty three percent"), heard(20, "correction sixty two percent"))

    assert ["(63)", "62"] == values(store)


def test_a_struck_correction_gives_back_what_it_corrected(store: DriveStore, answering: Answering) -> None:
    """At once, as at the end of the drive."""
    take(
        answering,
        heard(10, "checkpoint sixty three percent"),
        heard(20, "correction sixty two percent"),
        heard(25, "strike that"),
    )
    live = values(store)
    settle(store)

    assert ["63", "(62)"] == live[:2] == values(store)[:2]


def test_entries_older_than_the_window_stay(store: DriveStore, answering: Answering) -> None:
    """The live model knows the newest calls only; the store keeps the entries of all."""
    count = WINDOW + 5
    take(
        answering,
        *(heard(10 * each, f"checkpoint {word} percent") for each, word in enumerate(["fifty"] * count)),
    )

    assert count == len(store.entries())


def test_what_the_store_refuses_is_taken_once_when_it_can_be(store: DriveStore, answering: Answering) -> None:
    """Refused, nothing of a call is there; tried again it is there once, in the store and in the model."""
    clips = store.folder / "clips"
    clips.write_bytes(b"")  # in the way of the clips
    first = heard(10, "checkpoint sixty three percent")
    with pytest.raises(StoreError, match="cannot be"):
        take(answering, first)
    assert ((), ()) == (store.utterances(), store.entries())

    store._db.execute("CREATE TRIGGER full BEFORE INSERT ON entry BEGIN SELECT RAISE(ABORT, 'full'); END")  # noqa: SLF001
    clips.unlink()
    with pytest.raises(StoreError, match="full"):
        take(answering, first)
    assert ((), ()) == (store.utterances(), store.entries())

    store._db.execute("DROP TRIGGER full")  # noqa: SLF001
    assert [1, 1] == take(answering, first, heard(20, "checkpoint sixty two percent"))
    assert ["63", "62"] == values(store)
