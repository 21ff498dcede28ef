"""A call that was heard live, put into the store as the very facts that taking in a recording gives, with its answer."""

from __future__ import annotations

from logger.core.live import LiveReconciler
from logger.core.live_cut import is_own
from logger.core.verdicts import Verdict, verdict_on
from logger.errors import StoreError
from logger.model import RATE_HZ, Entry, Hypothesis, Recognition, Utterance
from logger.store import DriveStore
from logger.wiring.recording.asked import Heard
from logger.wiring.taking_in_sound import keep_clip

_STEP_SAMPLES = RATE_HZ // 100


class _UnsureError(Exception):
    """A quick answer leaves a doubt: of those that do, seven in ten are settled by the one that comes next.

    (tests/benchmarks/quick_answers.py, TUNING drives at 10 and 5 dB: of those without a doubt 721 of 738 stand.)
    """


class Answering:
    """Stores what was heard and what it comes to, in one transaction for each call.

    Args:
        store: the drive.
        live: gives the provisional answers.
    """

    def __init__(self, store: DriveStore, live: LiveReconciler) -> None:
        self._store, self._live = store, live

    def answer(self, heard: Heard, start_ns: int) -> tuple[Entry, ...] | None:
        """Return the entries of a cut, all of it stored; None where it is no call, is not sure, or adds nothing.

        No entries mean that an answer was taken back: those who are believed heard no call in the same sound.

        Args:
            heard: the cut and what was heard in it.
            start_ns: when its first sample was heard, on the drive clock.

        Raises:
            StoreError: it cannot be stored; nothing of it is, and it may be tried again.
        """
        what, call = heard.what, heard.what.cut.call
        hypotheses = () if is_own(what.hypotheses, what.cut) else what.hypotheses
        known = self._known(heard)
        if known is not None and call.answered is not None and call.answered.recogniser == what.recogniser:
            return None
        if (
            known is None
            and call.utterance is not None
            and not self._live.is_call(Recognition(0, what.recogniser, hypotheses))
        ):
            return None  # answered early, and nothing that counts came after it
        before = self._live.known()
        try:
            utterance, entries = self._stored(heard, hypotheses, start_ns, known)
        except (StoreError, _UnsureError) as error:
            # The store has none of it; if it is heard again, the model must not know it twice.
            self._live.go_back_to(before)
            if isinstance(error, StoreError):
                raise
            return None
        call.stored += known is None
        call.utterance, call.answered = utterance, what
        return entries if entries or known is not None else None

    def _stored(
        self, heard: Heard, hypotheses: tuple[Hypothesis, ...], start_ns: int, known: Utterance | None
    ) -> tuple[Utterance, tuple[Entry, ...]]:
        """Store a call, all of it or, where anything is raised, nothing."""
        what = heard.what
        with self._store.atomic():
            utterance = known or self._add_call(heard, start_ns)
            recognition = Recognition(utterance.id, what.recogniser, hypotheses)
            self._store.add_recognition(recognition)
            entries = self._entries_of(utterance, recognition, what.cut.call.utterance)
            if not what.for_good and verdict_on(entries) is not Verdict.TAKEN:
                raise _UnsureError
            if known is None:
                # Before the row counts, so that none names a clip that is not there yet.
                self.keep_sound(heard)
        return utterance, entries

    def _known(self, heard: Heard) -> Utterance | None:
        """Return the utterance of what was answered, if this is the same sound."""
        cut, answered = heard.what.cut, heard.what.cut.call.answered
        if answered is None or not cut.holds_the_voice_of(answered.cut):
            return None
        return cut.call.utterance

    def _entries_of(
        self, utterance: Utterance, recognition: Recognition, before: Utterance | None
    ) -> tuple[Entry, ...]:
        """Answer a call, in the place of what it was answered before, if it was."""
        if before is not None:
            self._live.forget(before.id)
        entries = self._live.hear(utterance, recognition)
        if before is not None and not entries:
            self._live.take_back(before.id)
        if before is not None or entries:
            # A correction or a strike changes older entries too; those that the model has let go of stay as they are.
            changed = {each.utterance_id for each in self._live.entries}
            if before is not None:
                changed.add(before.id)
            self._store.replace_entries_of(changed, self._live.entries)
        return entries

    def _add_call(self, heard: Heard, start_ns: int) -> Utterance:
        cut, first_sample = heard.what.cut, _first_sample(heard)
        clip = keep_clip(self._store, heard.source_id, first_sample, None)
        utterance = self._store.add_utterance(heard.source_id, first_sample, len(cut.samples), start_ns, clip)
        if cut.call.utterance is not None:
            self._store.add_longer(cut.call.utterance.id, utterance.id)
        return utterance

    def keep_sound(self, heard: Heard) -> None:
        """Keep the sound of a call, with what our own voice covers of it.

        Raises:
            StoreError: it cannot be written.
        """
        if heard.what.hypotheses and not heard.without_sound:
            keep_clip(self._store, heard.source_id, _first_sample(heard), heard.what.cut.samples)


def _first_sample(heard: Heard) -> int:
    """Return where the utterance of a cut begins: a source has one a sample, so one that holds another begins a step before it."""
    cut = heard.what.cut
    return max(0, cut.first_sample - _STEP_SAMPLES * cut.call.stored)
