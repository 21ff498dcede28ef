"""Everything heard on a drive -> the entries of its log, each with what is known of it and why. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from grammar import Language, Reading
from logger.core.candidates import read_call
from logger.core.rows import PlaceAt
from logger.model import Decision, Drive, Entry, Issue, Origin, Recognition, Status, Utterance


@dataclass(frozen=True, slots=True)
class Settled:
    """What a drive comes to: its entries in the order of the drive, and what was odd."""

    entries: tuple[Entry, ...]
    issues: tuple[Issue, ...]


def reconcile(
    drive: Drive,
    utterances: Iterable[Utterance],
    recognitions: Iterable[Recognition],
    *,
    language: Language,
    place_at: PlaceAt,
    decisions: Sequence[Decision] = (),
) -> Settled:
    """Settle every reading of a drive, as a function of the whole drive.

    Args:
        drive: when it began.
        utterances: in any order.
        recognitions: one for each utterance (the newest), in any order.
        language: what may be said, and the limits of its quantities.
        place_at: the track; see `PlaceAt`.
        decisions: what people decided, in any order.
    """
    heard = {recognition.utterance_id: recognition for recognition in recognitions}
    entries = []
    for utterance in sorted(utterances, key=lambda each: (each.start_ns, each.id)):
        call = read_call(utterance, heard[utterance.id], language) if utterance.id in heard else None
        if call is None:
            continue
        for slot in call.slots:
            if isinstance(slot.frame, Reading):
                option = slot.options[0]
                assert isinstance(option.part, Reading)
                entries.append(
                    Entry(
                        slot.id,
                        utterance.id,
                        slot.at_ns,
                        option.part.quantity,
                        option.part.value,
                        option.part.unit,
                        Status.FLAGGED,
                        round(option.weight, 4),
                        Origin.HEARD,
                        option.heard,
                        "",
                        "not checked",
                    )
                )
    return Settled(tuple(entries), ())
