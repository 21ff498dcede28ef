"""What a run that was killed left half done, in a real store and by a real recogniser."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from called_drives import BEGAN, answers, steady
from live_drive import spoken

from grammar import Language, Phrasebook
from logger.core.live import LiveReconciler
from logger.core.live_track import LiveTrack
from logger.model import RATE_HZ, Drive, Recognition
from logger.store import DriveStore
from logger.wiring.choosing import choose
from logger.wiring.reconciling import settle
from logger.wiring.recording.resuming import finish_left_over, warm_up
from logger.wiring.taking_in_sound import keep_clip

CALL = spoken([(0.4, "checkpoint sixty three percent")], 3.0)


def test_a_call_that_was_answered_quickly_only_is_heard_for_good(tmp_path: Path) -> None:
    """The newest one, once; those before it had their time, and one in which nobody heard a call is left alone."""
    recogniser = choose("pocketsphinx", None, Language(Phrasebook())).recogniser
    told: list[str] = []
    with DriveStore.create(tmp_path / "drive", Drive(BEGAN, "")) as store:
        source = store.add_source("microphone 'Visor'", "", 0)
        for at_s, lines in ((10, ("checkpoint fifty percent",)), (20, ("checkpoint sixty percent",))):
            clip = keep_clip(store, source.id, at_s * RATE_HZ, CALL)
            called = store.add_utterance(source.id, at_s * RATE_HZ, len(CALL), at_s * 10**9, clip)
            store.add_recognition(Recognition(called.id, "quick", answers(*lines)))

        finish_left_over(store, recogniser, told.append)
        first, second = store.latest_recognitions()
        assert ("quick", recogniser.name) == (first.recogniser, second.recogniser)
        assert "checkpoint sixty three percent" == second.hypotheses[0].text
        assert [20 * RATE_HZ + len(CALL)] == [each.sample_count for each in store.sources()]

        finish_left_over(store, recogniser, told.append)  # nothing is left to do
        silent = store.add_source("microphone 'Visor'", "", 60 * 10**9)
        clip = keep_clip(store, silent.id, 0, None)
        store.add_utterance(silent.id, 0, RATE_HZ, 60 * 10**9, clip)
        finish_left_over(store, recogniser, told.append)
        assert 2 == len(store.latest_recognitions())
    assert [] == told


def test_a_clip_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    """The quick answer stands, and going on with the drive is not held up."""
    recogniser = choose("pocketsphinx", None, Language(Phrasebook())).recogniser
    told: list[str] = []
    with DriveStore.create(tmp_path / "drive", Drive(BEGAN, "")) as store:
        source = store.add_source("microphone 'Visor'", "", 0)
        clip = keep_clip(store, source.id, 0, np.zeros(RATE_HZ, np.int16))
        called = store.add_utterance(source.id, 0, RATE_HZ, 0, clip)
        store.add_recognition(Recognition(called.id, "quick", answers("checkpoint fifty percent")))
        (store.folder / clip).write_bytes(b"no sound")

        finish_left_over(store, recogniser, told.append)
        assert ["quick"] == [each.recogniser for each in store.latest_recognitions()]
    (line,) = told
    assert "what was heard in it at first stands" in line


def test_what_was_heard_for_good_takes_the_place_of_the_quick_answer(tmp_path: Path) -> None:
    """Sixty was answered quickly, and is sixty three by those who are believed: that is what the next run goes on from."""
    language = Language(Phrasebook())
    recogniser = choose("pocketsphinx", None, language).recogniser
    with DriveStore.create(tmp_path / "drive", Drive(BEGAN, "")) as store:
        source = store.add_source("microphone 'Visor'", "", 0)
        for at_s, lines in ((0, ("checkpoint sixty four percent",)), (60, ("checkpoint sixty percent",))):
            clip = keep_clip(store, source.id, at_s * RATE_HZ, CALL)
            called = store.add_utterance(source.id, at_s * RATE_HZ, len(CALL), at_s * 10**9, clip)
            store.add_recognition(Recognition(called.id, "quick", answers(*lines)))
        settle(store)
        assert ["64", "60"] == [str(entry.value) for entry in store.entries()]

        finish_left_over(store, recogniser, [].append)
        live, track = LiveReconciler(store.drive(), language, steady), LiveTrack()
        warm_up(live, store, track)

    assert ["64", "63"] == [str(entry.value) for entry in live.entries]
    assert live.entries == live.charge_course
