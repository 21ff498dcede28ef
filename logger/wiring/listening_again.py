"""The kept sound of a drive, heard again by another recogniser; what was heard before stays stored beneath it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from grammar import Language
from logger.core.decided import those_that_count
from logger.errors import OdovoxError, SoundError, StoreError
from logger.model import RATE_HZ, Action, Decision, Issue, Recognition, Samples, Utterance
from logger.ports import Recogniser
from logger.sound.clips import read_clip
from logger.store import DriveStore
from logger.wiring.choosing import Chosen
from logger.wiring.ingest import Listener, Progress
from logger.wiring.reconciling import Summary, language_of, settle, summary_of, worked_out


@dataclass(frozen=True, slots=True)
class HeardAgain:
    """What a drive holds after listening again, and whether that itself needs a human."""

    summary: Summary
    unreadable: int
    """Clips that should be there and could not be heard."""
    astray: int
    """Decisions that this took their entry from, or that may be about something else now."""

    @property
    def needs_human(self) -> bool:
        """Whether the drive needs a human, or a clip or a decision does."""
        return bool(self.summary.needs_human or self.unreadable or self.astray)


def listen_again(folder: Path, *, choose: Callable[[Language], Chosen], listener: Listener) -> HeardAgain:
    """Let a recogniser hear every kept clip that it has not heard yet, and reconcile the drive in a folder.

    Every answer is kept at once. When it is stopped, what was heard until then is reconciled, and a further run goes
    on with what is missing. Decisions stay; where one may be about another reading now, that is told.

    Raises:
        OdovoxError: the drive or the recogniser cannot be used. A clip that cannot is told to the listener.
    """
    with DriveStore.open(folder) as store:
        chosen = choose(language_of(store))
        listener.remark(f"listening with {chosen.recogniser.name} ({chosen.why})")
        before = _quantities_decided_about(store)
        try:
            unreadable = _listen(store, chosen.recogniser, listener)
        except (OdovoxError, KeyboardInterrupt):
            with suppress(StoreError):
                _settle(store, before, listener)
            raise
        astray = _settle(store, before, listener)
        _tell_what_counts(store, chosen.recogniser.name, listener)
        return HeardAgain(summary_of(store), unreadable, astray)


def _listen(store: DriveStore, recogniser: Recogniser, listener: Listener) -> int:
    """Hear what is missing; return how many clips could not be heard."""
    had_call = {
        each.utterance_id
        for name in store.recognisers()
        for each in store.latest_recognitions(name)
        if each.hypotheses
    }
    asked = {each.utterance_id for each in store.latest_recognitions(recogniser.name)}
    missing = [each for each in store.utterances() if each.id not in asked]
    # Where nobody heard a call, no sound was kept.
    waiting = [each for each in missing if each.id in had_call or _clip(store, each).is_file()]
    if len(waiting) < len(missing):
        listener.remark(
            f"{len(missing) - len(waiting)} stretches without a call have no kept sound; "
            "to have them heard too, ingest the recording again"
        )
    done = Progress("kept sound", 0.0, sum(each.sample_count for each in waiting) / RATE_HZ, 0)
    unreadable = 0
    for utterance in waiting:
        done = replace(done, done_s=done.done_s + utterance.sample_count / RATE_HZ)
        try:
            samples = _sound_of(store, utterance)
        except SoundError as error:
            unreadable += 1
            listener.odd(Issue("clip_unreadable", f"{error}; what was heard of it before stays"))
            continue
        hypotheses = recogniser.recognise(samples)
        store.add_recognition(Recognition(utterance.id, recogniser.name, hypotheses))
        done = replace(done, calls=done.calls + bool(hypotheses))
        listener.progress(done)
    return unreadable


def _clip(store: DriveStore, utterance: Utterance) -> Path:
    return store.folder / utterance.clip


def _sound_of(store: DriveStore, utterance: Utterance) -> Samples:
    if not utterance.clip:
        raise SoundError(f"{store.folder}: utterance {utterance.id} names no clip")
    samples = read_clip(_clip(store, utterance))
    if len(samples) != utterance.sample_count:
        raise SoundError(
            f"{_clip(store, utterance)}: has {len(samples)} samples and not {utterance.sample_count}; "
            "restore it from a copy of the drive folder"
        )
    return samples


def _settle(store: DriveStore, before: Mapping[str, str], listener: Listener) -> int:
    """Reconcile and tell what is odd; return how many decisions went astray since `before`."""
    issues = settle(store).issues
    after, decided = _quantities_decided_about(store), _newest(store)
    shifted = _shifted(before, after, decided)
    for issue in (*issues, *shifted):
        listener.odd(issue)
    # That they are about nothing now is among the issues; a decided value stays as an entry of its own.
    lost = [
        each
        for each in before.keys() - after.keys()
        if decided[each].value is None or decided[each].action is Action.REJECT
    ]
    return len(shifted) + len(lost)


def _newest(store: DriveStore) -> dict[str, Decision]:
    """Return the decision that counts for each entry decided about."""
    counting = those_that_count(store.decisions())
    return {each.entry_id: each for each in counting if each.action is not Action.ADD}


def _quantities_decided_about(store: DriveStore) -> dict[str, str]:
    """Return as which quantity each entry that was decided about is heard, whatever was decided."""
    decided = _newest(store)
    if not decided:
        return {}
    return {entry.id: entry.quantity for entry in worked_out(store, ()).entries if entry.id in decided}


def _shifted(
    before: Mapping[str, str], after: Mapping[str, str], decided: Mapping[str, Decision]
) -> list[Issue]:
    """Tell the decisions whose entry was one quantity and is now another than that and than what was decided."""
    return [
        Issue(
            "decision_shifted",
            f"decision {decided[entry_id].id} was about {entry_id} as {before[entry_id]}, which is heard as {quantity} now; "
            f"it still counts: see --explain {entry_id}",
        )
        for entry_id, quantity in after.items()
        if entry_id in before and quantity not in (before[entry_id], decided[entry_id].quantity)
    ]


def _tell_what_counts(store: DriveStore, name: str, listener: Listener) -> None:
    """Say whose answers count where another recogniser listened later: an answer is stored once and stays where it is."""
    own = {each.utterance_id for each in store.latest_recognitions(name)}
    newer = {
        each.recogniser
        for each in store.latest_recognitions()
        if each.utterance_id in own and each.recogniser != name
    }
    if newer:
        listener.remark(f"{' and '.join(sorted(newer))} listened after {name} did, so those answers count")
