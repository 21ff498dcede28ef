"""Everything heard on a drive -> the entries of its log, each with what is known of it and why. Pure.

    recognitions --trusting, candidates--> calls --said--> readings, remarks, what no longer stands
    readings + evidence --chain, rules--> the likeliest course of each quantity --settling--> entries <--decided-- people

It is a function of the whole drive, so a better rule or recogniser can be run again over an old drive.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from grammar import Language
from logger.core.calls import in_better_make_ups, read_calls
from logger.core.candidates import Call
from logger.core.decided import NOTHING_DECIDED, Decided, gather_decisions, orphaned
from logger.core.evidence import Surroundings, gather_facts
from logger.core.jumps import doubts_after_charging
from logger.core.neighbours import Place
from logger.core.readers import Reader, Readers
from logger.core.rows import PlaceAt
from logger.core.rules import Facts
from logger.core.said import Remark, Said, take_in, unheard_id
from logger.core.settling import rejected, settle
from logger.core.trusting import AS_MEASURED, LEARNED_FROM, ROUNDS, Trust, learned, teaching
from logger.core.weaving import weave_with_decisions
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
    """Settle every reading of a drive, as a function of the whole drive. Takes time linear in the calls.

    Args:
        drive: when it began.
        utterances: in any order.
        recognitions: the newest one of each utterance, in any order.
        language: what may be said, and the limits of its quantities.
        place_at: the track; see `PlaceAt`.
        decisions: what people decided, in any order.

    Returns:
        One entry for each part of each call: readings, notes, questions (notes that begin with "asked:" or are
        "strike that"), and one entry `unheard` for a call without a meaning. Withdrawn and replaced readings stay,
        rejected.
    """
    worked = work_out(
        drive, utterances, recognitions, language=language, place_at=place_at, decisions=decisions
    )
    return Settled(worked.entries, worked.issues)


@dataclass(frozen=True, slots=True)
class Worked:
    """How a drive's entries came about.

    Attributes:
        entries, issues: as `Settled`.
        readings: the readings that nobody decided about and that stand, with their places, by entry id.
        facts: what the whole drive said.
        trust: what two joined recognisers' scores were worth.
    """

    entries: tuple[Entry, ...]
    issues: tuple[Issue, ...]
    readings: Mapping[str, tuple[Reader, Place]]
    facts: Facts
    trust: Trust = AS_MEASURED


def work_out(
    drive: Drive,
    utterances: Iterable[Utterance],
    recognitions: Iterable[Recognition],
    *,
    language: Language,
    place_at: PlaceAt,
    decisions: Sequence[Decision] = (),
    trust: Trust | None = None,
) -> Worked:
    """Settle every reading of a drive and keep how; see `reconcile`.

    `trust` is what two joined recognisers' scores are worth, where it is known from before: decisions do not change it.
    """
    ordered = sorted(utterances, key=lambda each: (each.start_ns, each.id))
    heard = {recognition.utterance_id: recognition for recognition in recognitions}
    if trust is None:
        trust = _trust(drive, ordered, heard, language, place_at)
    calls, issues = read_calls(ordered, heard.values(), language, trust)
    decided = gather_decisions(decisions, ordered)
    worked = settle_calls(drive, ordered, calls, language=language, place_at=place_at, decided=decided)
    return replace(worked, issues=(*issues, *worked.issues), trust=trust)


def _trust(
    drive: Drive,
    ordered: Sequence[Utterance],
    heard: Mapping[int, Recognition],
    language: Language,
    place_at: PlaceAt,
) -> Trust:
    """Return what two joined recognisers' scores are worth on this drive, by its first calls settled with what is believed.

    What people decided has no say: it would change which entry is which, and what the decisions are about.
    """
    first = [each for each in ordered if each.id in heard and heard[each.id].hypotheses][:LEARNED_FROM]
    taught = {each.id: heard[each.id] for each in first}
    language = language.remembering()  # since the same answers are gone through in every round
    trust = AS_MEASURED
    if not teaching(taught.values()):
        return trust
    for _ in range(ROUNDS):
        calls, _ = read_calls(first, taught.values(), language, trust)
        worked = settle_calls(drive, first, calls, language=language, place_at=place_at, only=())
        before, trust = trust, learned(taught, worked.readings.values(), language)
        if trust == before:
            break
    return trust


def settle_calls(
    drive: Drive,
    ordered: Sequence[Utterance],
    calls: Sequence[Call],
    *,
    language: Language,
    place_at: PlaceAt,
    decided: Decided = NOTHING_DECIDED,
    only: Collection[int] | None = None,
) -> Worked:
    """Settle what was called out on a drive; utterances and calls in order of time.

    With `only`, entries of readings are made of these utterances alone, though all of them have a say in it.
    """
    around = Surroundings(drive, place_at, [call.at_ns for call in calls])
    readers = Readers(around)
    calls, known = in_better_make_ups(calls, language, around, readers)
    said = take_in(calls)
    entries = [*_remarks(said), *_not_understood(said), *decided.added]
    ids = [*(entry.id for entry in entries), *(spoken.slot.id for spoken in said.readings)]
    kept, lost = orphaned(decided, ids, ordered)
    entries = [decided.lay_over(entry) for entry in (*entries, *kept)]
    pinned = [entry for entry in entries if entry.value is not None]

    standing = []
    for spoken in said.readings:
        reader = readers.of(spoken)
        entry_id, value = reader.id, decided.value_of(reader.id)
        if decided.takes_out(entry_id) or (entry_id in said.gone and value is None):
            entries.append(decided.lay_over(rejected(reader, said.gone.get(entry_id, ""))))
            continue
        standing.append(reader)
        if value is not None:
            entries.append(decided.lay_over(rejected(reader, "")))
    heard = [remark for remark in said.remarks if remark.slot.id not in decided.about]
    noted = decided.notes(entries)
    facts = gather_facts(language.phrasebook.quantities, heard, said.readings, around, noted)
    if noted or len(heard) < len(said.remarks):
        known = {}  # the strands at first sight went by notes that count no more
    readings, jumps = weave_with_decisions(
        standing, pinned, decided, known, facts=facts, around=around, language=language
    )
    doubted = {**doubts_after_charging(readings), **said.doubted}
    entries += [
        decided.lay_over(
            settle(
                reader,
                place,
                facts,
                doubt=doubted.get(reader.id, ""),
                doubt_otherwise=jumps.get(reader.id, ""),
            )
        )
        for reader, place in readings
        if only is None or reader.spoken.slot.utterance_id in only
    ]
    return Worked(
        tuple(sorted(entries, key=_order)),
        (*decided.issues, *lost),
        {reader.id: (reader, place) for reader, place in readings},
        facts,
    )


def _remarks(said: Said) -> list[Entry]:
    return [_remark(remark) for remark in said.remarks]


def _remark(remark: Remark) -> Entry:
    slot = remark.slot
    option = next(option for option in slot.options if option.part == slot.frame)
    return Entry(
        id=slot.id,
        utterance_id=slot.utterance_id,
        at_ns=slot.at_ns,
        quantity="note",
        value=None,
        unit="",
        status=Status.FLAGGED if remark.doubt else Status.ACCEPTED,
        confidence=round(option.weight, 4),
        origin=Origin.HEARD,
        heard=option.heard,
        note=remark.text,
        reason="; ".join(part for part in (remark.effect, remark.doubt) if part),
    )


def _not_understood(said: Said) -> list[Entry]:
    entries = []
    for call in said.not_understood:
        entry_id = unheard_id(call)
        doubt = said.gone.get(entry_id) or said.doubted.get(entry_id)
        entries.append(
            Entry(
                id=entry_id,
                utterance_id=call.utterance.id,
                at_ns=call.at_ns,
                quantity="unheard",
                value=None,
                unit="",
                status=Status.REJECTED if entry_id in said.gone else Status.FLAGGED,
                confidence=0.0,
                origin=Origin.HEARD,
                heard=call.heard,
                note="",
                reason=doubt or f"'{call.heard}' and the other answers are no call of this sheet's language",
            )
        )
    return entries


def _order(entry: Entry) -> tuple[int, int, int, str]:
    place = entry.id.rsplit("-", maxsplit=1)[-1]
    return entry.at_ns, entry.utterance_id, int(place) if place.isdecimal() else 0, entry.id
