"""All there is to say about one entry of a reviewed drive: for whoever has to decide about it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from logger.core.decided import is_about
from logger.core.deciding import Ranked, ranked
from logger.core.explaining import Explanation, explain
from logger.core.history import Step, history_of
from logger.core.rows import MAX_GAP_S
from logger.errors import AnswerError
from logger.model import Action, Entry, Place, Utterance
from logger.sound.kept_sound import has_whole_sound
from logger.wiring.reviewing.drive import View

_BESIDE = 2
"""So many entries before and after, of whatever quantity, are shown."""


@dataclass(frozen=True, slots=True)
class Detail:
    """One entry, and what a person needs to decide about it.

    Attributes:
        entry: as it is.
        undecided: as it would be had nobody decided about it; None where there would be none.
        ranked: what it may be, likeliest first; by the undecided one.
        explanation: how it came about.
        steps: what people decided about it.
        at_utc_ns: when it was read off.
        place: where; None where nobody was measuring.
        utterance: the call it was said in; None for what a person added.
        has_clip: whether its sound was kept.
        has_more: whether the sound around it was kept too.
        before, after: the entries right before and after it.
    """

    entry: Entry
    undecided: Entry | None
    ranked: tuple[Ranked, ...]
    explanation: Explanation
    steps: tuple[Step, ...]
    at_utc_ns: int
    place: Place | None
    utterance: Utterance | None
    has_clip: bool
    has_more: bool
    before: tuple[Entry, ...]
    after: tuple[Entry, ...]


def detail_of(folder: Path, view: View, entry_id: str) -> Detail:
    """Return all there is to say about an entry. Takes as long as settling the drive where somebody decided about it.

    Raises:
        AnswerError: there is no such entry.
    """
    entry = view.entry(entry_id)
    if entry is None:
        raise AnswerError(f"there is no entry {entry_id!r} any more; look at the drive again")
    heard = view.heard
    about = [each for each in view.decisions if is_about(each, entry_id)]
    worked = view.worked
    undecided: Entry | None = entry
    if about:
        worked = heard.work_out([each for each in view.decisions if each not in about], view.worked.trust)
        undecided = next((each for each in worked.entries if each.id == entry_id), None)
    added = any(each.action is Action.ADD for each in about)
    utterance = next((each for each in heard.utterances if each.id == entry.utterance_id and not added), None)
    recognition = next(
        (each for each in heard.recognitions if utterance and each.utterance_id == utterance.id), None
    )
    at_utc_ns = heard.drive.began_utc_ns + entry.at_ns
    place = heard.place_at(at_utc_ns)
    number = view.entries.index(entry)
    return Detail(
        entry=entry,
        undecided=undecided,
        ranked=() if undecided is None else ranked(undecided, heard.language),
        explanation=explain(entry_id, worked, recognition, about),
        steps=history_of(entry_id, view.decisions),
        at_utc_ns=at_utc_ns,
        place=place if place is not None and place.gap_s <= MAX_GAP_S else None,
        utterance=utterance,
        has_clip=utterance is not None and bool(utterance.clip) and (folder / utterance.clip).is_file(),
        has_more=utterance is not None and has_whole_sound(folder, utterance.source_id),
        before=view.entries[max(0, number - _BESIDE) : number],
        after=view.entries[number + 1 : number + 1 + _BESIDE],
    )
