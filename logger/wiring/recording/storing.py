"""A call that was heard live, put into the store as the very facts that taking in a recording gives."""

from __future__ import annotations

from collections.abc import Sequence

from logger.model import RATE_HZ, Hypothesis, Recognition, Utterance
from logger.store import DriveStore
from logger.wiring.recording.asked import Heard
from logger.wiring.taking_in_sound import keep_clip

_STEP_SAMPLES = RATE_HZ // 100


def store_call(
    store: DriveStore, heard: Heard, hypotheses: Sequence[Hypothesis], recogniser: str, start_ns: int
) -> tuple[Utterance, Recognition, int | None]:
    """Store a cut with its sound and what was heard in it.

    Args:
        store: the drive; the caller holds a transaction.
        heard: the cut.
        hypotheses: what counts of it as the driver's words.
        recogniser: who heard it.
        start_ns: when its first sample was heard, on the drive clock.

    Returns:
        The utterance, its recognition, and the utterance that counts no more because this one holds it, if there is one.

    Raises:
        StoreError: the drive or the clip cannot be written.
    """
    cut = heard.cut
    # A source has one utterance a sample, so one that holds another begins a hundredth of a second before it.
    first_sample = max(0, cut.first_sample - _STEP_SAMPLES * cut.call.stored)
    # The sound first: a row never names a clip that is not there yet. What our own voice covers is kept as well.
    clip = keep_clip(store, heard.source_id, first_sample, cut.samples if heard.hypotheses else None)
    utterance = store.add_utterance(heard.source_id, first_sample, len(cut.samples), start_ns, clip)
    recognition = store.add_recognition(Recognition(utterance.id, recogniser, tuple(hypotheses)))
    shorter = cut.call.utterance_id
    if shorter is not None:
        store.add_longer(shorter, utterance.id)
    return utterance, recognition, shorter
