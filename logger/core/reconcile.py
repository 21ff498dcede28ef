"""Everything heard on a drive -> the entries of its log, each with what is known of it and why. Pure.

    recognitions --candidates--> calls --said--> readings, remarks, what no longer stands
    readings + evidence --chain, rules--> the likeliest course of each quantity --settling--> entries <--decided-- people

It is a function of the whole drive, so a better rule or recogniser can be run again over an old drive.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from grammar import Language
from logger.core.candidates import Call, read_call
from logger.core.chain import REACH, ChainSlot, settle_chain
from logger.core.decided import Decided, gather_decisions, orphaned
from logger.core.evidence import Surroundings, gather_facts
from logger.core.rows import PlaceAt
from logger.core.rules import Facts
from logger.core.said import Remark, Said, take_in, unheard_id
from logger.core.settling import Reader, make_reader, rejected, settle
from logger.model import Decision, Drive, Entry, Issue, Origin, Recognition, Status, Utterance

_CERTAIN = -1000.0
"""Log weight of leaving out a value that a person decided."""


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
    ordered = sorted(utterances, key=lambda each: (each.start_ns, each.id))
    calls, issues = _calls(ordered, recognitions, language)
    said = take_in(calls)
    decided = gather_decisions(decisions, ordered)
    times = [spoken.at_ns for spoken in said.readings] + [remark.slot.at_ns for remark in said.remarks]
    around = Surroundings(drive, place_at, times)
    facts = gather_facts(language.phrasebook.quantities, said.remarks, said.readings, around)
    readers = [make_reader(spoken, around) for spoken in said.readings]

    entries = [*_remarks(said), *_not_understood(said), *decided.added]
    known = [*(entry.id for entry in entries), *(reader.spoken.slot.id for reader in readers)]
    kept, lost = orphaned(decided, known, ordered)
    entries = [decided.lay_over(entry) for entry in (*entries, *kept)]
    pinned = [entry for entry in entries if entry.value is not None]
    entries += [
        decided.lay_over(entry)
        for entry in _readings(readers, pinned, said, decided, facts=facts, around=around)
    ]
    return Settled(tuple(sorted(entries, key=_order)), (*issues, *decided.issues, *lost))


def _calls(
    utterances: Sequence[Utterance], recognitions: Iterable[Recognition], language: Language
) -> tuple[list[Call], list[Issue]]:
    """Return what was called out, and say how much was no call."""
    by_utterance = {recognition.utterance_id: recognition for recognition in recognitions}
    calls: list[Call] = []
    waiting = talk = 0
    for utterance in utterances:
        recognition = by_utterance.get(utterance.id)
        if recognition is None:
            waiting += 1
            continue
        call = read_call(utterance, recognition, language)
        if call is None:
            continue
        if call.slots or _opens_a_call(recognition, language.phrasebook.lead):
            calls.append(call)
        else:
            talk += 1
    issues = []
    if waiting:
        issues.append(
            Issue("not_recognised", f"no recogniser has listened to {waiting} of the utterances yet")
        )
    if talk:
        lead = language.phrasebook.lead
        message = f"{talk} stretches of speech without '{lead}' and without a meaning were left out"
        issues.append(Issue("talk", message))
    return calls, issues


def _opens_a_call(recognition: Recognition, lead: str) -> bool:
    """Whether any answer has a word that only a call begins with; in open mode all speech may be a call."""
    return not lead or any(
        word.text in {lead, "correction"} for answer in recognition.hypotheses for word in answer.words
    )


def _readings(
    readers: Sequence[Reader],
    pinned: Sequence[Entry],
    said: Said,
    decided: Decided,
    *,
    facts: Facts,
    around: Surroundings,
) -> list[Entry]:
    """Settle each quantity's chain; what people decided stands in it as certain, what no longer stands is not in it."""
    entries: list[Entry] = []
    chains: dict[str, list[tuple[int, int, ChainSlot, Reader | None]]] = {}

    def pin(quantity: str, at_ns: int, slot: ChainSlot, reader: Reader | None) -> None:
        chain = chains.setdefault(quantity, [])
        chain.append((at_ns, len(chain), slot, reader))

    for reader in readers:
        slot_id, at_ns = reader.spoken.slot.id, reader.spoken.at_ns
        value = decided.value_of(slot_id)
        if value is not None:
            observed = around.observe(*value, at_ns)
            pin(value[0], at_ns, ChainSlot((observed,), (0.0,), _CERTAIN), None)
            entries.append(rejected(reader, ""))
        elif decided.rejects(slot_id) or slot_id in said.gone:
            entries.append(rejected(reader, said.gone.get(slot_id, "")))
        else:
            pin(reader.observations[0].quantity, at_ns, reader.chain_slot(), reader)
    for entry in pinned:
        if entry.value is not None and entry.status is not Status.REJECTED:
            observed = around.observe(entry.quantity, entry.value, entry.unit, entry.at_ns)
            pin(entry.quantity, entry.at_ns, ChainSlot((observed,), (0.0,), _CERTAIN), None)
    for chain in chains.values():
        chain.sort(key=lambda link: link[:2])
        entries += _settled(chain, said, facts)
    return entries


def _settled(
    chain: Sequence[tuple[int, int, ChainSlot, Reader | None]], said: Said, facts: Facts
) -> list[Entry]:
    links = settle_chain([slot for _, _, slot, _ in chain], facts)
    entries = []
    for index, ((_, _, _, reader), link) in enumerate(zip(chain, links, strict=True)):
        if reader is None:
            continue
        near = range(max(0, index - REACH), min(len(chain), index + REACH + 1))
        left_out = [
            chain[other][2].options[0] for other in near if other != index and links[other].taken is None
        ]
        entries.append(
            settle(reader, link, facts, rivals=left_out, doubt=said.doubted.get(reader.spoken.slot.id, ""))
        )
    return entries


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
