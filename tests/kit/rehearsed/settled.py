"""A rehearsed drive as the facts that odovox keeps, and reconciled."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from logger.core.reconcile import Settled, reconcile
from logger.model import RATE_HZ, Drive, Hypothesis, Recognition, Utterance
from rehearsed.hearing import as_hypotheses, joined, language
from rehearsed.records import RehearsedCall, RehearsedDrive, SaidReading
from rehearsed.tracks import PlaceAt, began_utc_ns

BOTH, VOSK, SPHINX = "vosk call-model-2 with pocketsphinx", "vosk call-model-2", "pocketsphinx"


def heard_by(call: RehearsedCall, recogniser: str) -> tuple[Hypothesis, ...]:
    """Return the list of one recogniser, or of both joined."""
    if recogniser == BOTH:
        return joined(call.vosk, call.sphinx)
    return as_hypotheses(call.vosk if recogniser == VOSK else call.sphinx)


def facts_of(drive: RehearsedDrive, recogniser: str = BOTH) -> tuple[list[Utterance], list[Recognition]]:
    """Return the drive's utterances, numbered from 1 in the order said, and what was heard in them."""
    utterances, recognitions = [], []
    for number, call in enumerate(drive.calls, start=1):
        start_ns = round(call.at_s * 1e9)
        utterances.append(
            Utterance(number, 1, round(call.at_s * RATE_HZ), round(call.length_s * RATE_HZ), start_ns, "")
        )
        recognitions.append(Recognition(number, recogniser, heard_by(call, recogniser)))
    return utterances, recognitions


def settled(drive: RehearsedDrive, place_at: PlaceAt, recogniser: str = BOTH) -> Settled:
    """Reconcile a drive."""
    utterances, recognitions = facts_of(drive, recogniser)
    return reconcile(
        Drive(began_utc_ns(drive), ""),
        utterances,
        recognitions,
        language=language(drive.system),  # type: ignore[arg-type]
        place_at=place_at,
    )


def first_readings(drive: RehearsedDrive, recogniser: str = BOTH) -> list[Sequence[SaidReading]]:
    """Return for each call what the first answer with a meaning says."""
    return [tuple(_meant(heard_by(call, recogniser), drive.system)) for call in drive.calls]


def _meant(answers: Sequence[Hypothesis], system: str) -> Iterator[SaidReading]:
    for answer in answers:
        meanings = language(system).meanings([word.text for word in answer.words])  # type: ignore[arg-type]
        if meanings:
            for reading in meanings[0].readings:
                yield SaidReading(reading.quantity, format(reading.value, "f"), reading.unit)
            return
