"""A call that was heard live, put into the store as the very facts that taking in a recording gives, with its answer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from logger.core.live import LiveReconciler
from logger.core.live_cut import is_own
from logger.errors import StoreError
from logger.model import RATE_HZ, Entry, Hypothesis, Recognition, Utterance
from logger.store import DriveStore
from logger.wiring.recording.asked import Heard
from logger.wiring.taking_in_sound import keep_clip

_STEP_SAMPLES = RATE_HZ // 100


class Answering:
    """Stores what was heard and what it comes to, in one transaction for each call.

    Args:
        store: the drive.
        live: gives the provisional answers.
        recogniser: who hears.
    """

    def __init__(self, store: DriveStore, live: LiveReconciler, recogniser: str) -> None:
        self._store, self._live, self._recogniser = store, live, recogniser

    def answer(self, heard: Heard, start_ns: int) -> tuple[Entry, ...]:
        """Return the entries of a cut, all of it stored; none where it is no call, or adds nothing to its early answer.

        Args:
            heard: the cut and what was heard in it.
            start_ns: when its first sample was heard, on the drive clock.

        Raises:
            StoreError: it cannot be stored; nothing of it is, and it may be tried again.
        """
        call, hypotheses = heard.cut.call, heard.hypotheses
        if is_own(hypotheses, heard.cut):
            hypotheses = ()
        if call.utterance_id is not None and (
            call.answered_end == heard.cut.end
            or not self._live.is_call(Recognition(0, self._recogniser, hypotheses))
        ):
            return ()  # answered early, and nothing that counts came after it
        with self._undone_on_failure() as undone, self._store.atomic():
            utterance, recognition = self._store_call(heard, hypotheses, start_ns)
            undone.append(utterance.id)
            if call.utterance_id is not None:
                self._live.forget(call.utterance_id)
            entries = self._live.hear(utterance, recognition)
            if entries:
                # A correction or a strike changes older entries too; those that the model has let go of stay as they are.
                standing = [each for each in self._live.entries if each.utterance_id != call.utterance_id]
                changed = {each.utterance_id for each in standing}
                if call.utterance_id is not None:
                    changed.add(call.utterance_id)
                self._store.replace_entries_of(changed, standing)
        call.utterance_id, call.stored, call.answered_end = utterance.id, call.stored + 1, heard.cut.end
        return entries

    def _store_call(
        self, heard: Heard, hypotheses: Sequence[Hypothesis], start_ns: int
    ) -> tuple[Utterance, Recognition]:
        cut = heard.cut
        # A source has one utterance a sample, so one that holds another begins a hundredth of a second before it.
        first_sample = max(0, cut.first_sample - _STEP_SAMPLES * cut.call.stored)
        # The sound first: a row never names a clip that is not there yet. What our own voice covers is kept as well.
        clip = keep_clip(
            self._store, heard.source_id, first_sample, cut.samples if heard.hypotheses else None
        )
        utterance = self._store.add_utterance(heard.source_id, first_sample, len(cut.samples), start_ns, clip)
        recognition = self._store.add_recognition(
            Recognition(utterance.id, self._recogniser, tuple(hypotheses))
        )
        if cut.call.utterance_id is not None:
            self._store.add_longer(cut.call.utterance_id, utterance.id)
        return utterance, recognition

    @contextmanager
    def _undone_on_failure(self) -> Iterator[list[int]]:
        """Let the live model forget what the store refuses in the end: it is heard once more when the store takes it."""
        heard: list[int] = []
        try:
            yield heard
        except StoreError:
            for utterance_id in heard:
                self._live.forget(utterance_id)
            raise
