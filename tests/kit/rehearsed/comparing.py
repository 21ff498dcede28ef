"""One drive settled in several ways, each judged alike: odovox, odovox with one recogniser, and without its core."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from logger.core.live import LiveReconciler
from logger.core.reconcile import reconcile
from logger.model import Drive, Entry
from logger.wiring.uncollected import uncollected
from rehearsed.baselines import Readings, first_answers, hard_rules, open_words
from rehearsed.hearing import language
from rehearsed.judging import judge_drive
from rehearsed.records import RehearsedDrive
from rehearsed.settled import BOTH, SPHINX, VOSK, facts_of, first_readings
from rehearsed.tallying import Tally, tally
from rehearsed.tracks import PlaceAt, began_utc_ns, real_track, track_of

ODOVOX = "odovox"
Settling = Callable[[RehearsedDrive, PlaceAt], "Outcome"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a way makes of a drive: its entries, what it takes the first answers to be, and processor seconds."""

    entries: Sequence[Entry]
    firsts: Readings
    processor_s: float = 0.0


def reconciled(drive: RehearsedDrive, place_at: PlaceAt, recogniser: str = BOTH) -> Outcome:
    """Return what odovox makes of a drive; only reconciling is timed, not the making of lists."""
    utterances, recognitions = facts_of(drive, recogniser)
    words = language(drive.system)
    began = time.process_time()
    with uncollected():  # as `odovox reconcile` does
        settled = reconcile(
            Drive(began_utc_ns(drive), ""), utterances, recognitions, language=words, place_at=place_at
        )
    processor_s = time.process_time() - began
    return Outcome(settled.entries, first_readings(drive, recogniser), processor_s)


def as_it_was_said(drive: RehearsedDrive, place_at: PlaceAt) -> Outcome:
    """Return the provisional answers, each given when its call was made."""
    utterances, recognitions = facts_of(drive, BOTH)
    live = LiveReconciler(Drive(began_utc_ns(drive), ""), language(drive.system), place_at)
    began = time.process_time()
    entries: list[Entry] = []
    for utterance, recognition in zip(utterances, recognitions, strict=True):
        entries += live.hear(utterance, recognition)
        live.learn()
    return Outcome(entries, first_readings(drive, BOTH), time.process_time() - began)


WAYS: dict[str, Settling] = {
    ODOVOX: reconciled,
    "as it was said": as_it_was_said,
    "with the call model alone": lambda drive, place_at: reconciled(drive, place_at, VOSK),
    "with PocketSphinx alone": lambda drive, place_at: reconciled(drive, place_at, SPHINX),
    "first answer": lambda drive, _place_at: Outcome(*first_answers(drive, BOTH)),
    "first answer, hard rules": lambda drive, place_at: Outcome(*hard_rules(drive, place_at, BOTH)),
    "open vocabulary, number parser": lambda drive, _place_at: Outcome(*open_words(drive)),
}
"""How a drive may be settled, by name; the last only where the open vocabulary was asked."""
OPEN = tuple(WAYS)[-1]


def compared(drive: RehearsedDrive, ways: Sequence[str] = tuple(WAYS)) -> dict[str, Tally]:
    """Settle a drive in several ways and count what came of each."""
    place_at = track(drive.seed) if drive.exception == "" else track_of(drive)
    asked = any(call.open_words is not None for call in drive.calls)
    found = {}
    for way in ways:
        if way != OPEN or asked:
            outcome = WAYS[way](drive, place_at)
            judged = judge_drive(drive, outcome.entries, outcome.firsts)
            found[way] = tally(judged, len(drive.calls), outcome.processor_s)
    return found


@lru_cache(maxsize=4)
def track(seed: int) -> PlaceAt:
    """Return an ordinary drive's track; making one from its fixes takes longer than reconciling."""
    return real_track(seed).at
