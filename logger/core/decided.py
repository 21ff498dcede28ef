"""What people decided after the drive, laid over the entries. Pure.

The newest decision about an entry counts (the one with the highest id) of those that were not withdrawn; a withdrawal
may be withdrawn too. A decided value also counts as certain when the other readings of its quantity are settled.
Decisions outlive the entries they were about: one whose entry is no longer there keeps its value, as an entry of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from logger.core.columns import NOTE
from logger.core.rules import told
from logger.model import Action, Decision, Entry, Issue, Origin, Status, Utterance


@dataclass(frozen=True, slots=True)
class Decided:
    """The decisions that count: about entries, by entry id, and the entries that people added."""

    about: dict[str, Decision]
    added: tuple[Entry, ...]
    issues: tuple[Issue, ...]

    def value_of(self, entry_id: str) -> tuple[str, Decimal, str] | None:
        """Return the quantity, value and unit decided for an entry, None when no value was."""
        decision = self.about.get(entry_id)
        if decision is None or decision.value is None or decision.action is Action.REJECT:
            return None
        return decision.quantity, decision.value, decision.unit

    def takes_out(self, entry_id: str) -> bool:
        """Whether an entry was rejected, or was made a note, so that it is no reading any more."""
        decision = self.about.get(entry_id)
        return decision is not None and (decision.action is Action.REJECT or is_note(decision))

    def notes(self, entries: Iterable[Entry]) -> list[Entry]:
        """Return those of the entries that are notes which people decided about or added, and that stand."""
        added = {entry.id for entry in self.added}
        return [
            entry
            for entry in entries
            if entry.quantity == NOTE
            and entry.status is not Status.REJECTED
            and (entry.id in self.about or entry.id in added)
        ]

    def lay_over(self, entry: Entry) -> Entry:
        """Return an entry as people decided it, or as it is."""
        decision = self.about.get(entry.id)
        return entry if decision is None else _as_decided(entry, decision)


NOTHING_DECIDED = Decided({}, (), ())


def added_id(decision: Decision) -> str:
    """Return the id of the entry that a decision adds."""
    return f"added-{decision.id}"


def about_id(decision: Decision) -> str:
    """Return the id of the entry that a decision is about, or adds."""
    return added_id(decision) if decision.action is Action.ADD else decision.entry_id


def is_about(decision: Decision, entry_id: str) -> bool:
    """Whether a decision is about an entry, or added it."""
    return about_id(decision) == entry_id


def is_note(decision: Decision) -> bool:
    """Whether a decision says what a note says."""
    return decision.quantity == NOTE and decision.action is not Action.REJECT


def withdrawals(decisions: Iterable[Decision]) -> dict[int, Decision]:
    """Return which decisions were withdrawn, by id, and by which one."""
    gone: dict[int, Decision] = {}
    for decision in sorted(decisions, key=lambda each: each.id, reverse=True):
        if decision.withdraws is not None and decision.id not in gone:
            gone.setdefault(decision.withdraws, decision)
    return gone


def those_that_count(decisions: Sequence[Decision]) -> tuple[Decision, ...]:
    """Return the decisions that were not withdrawn, and withdraw none themselves, in their order."""
    gone = withdrawals(decisions)
    return tuple(each for each in decisions if each.id not in gone and each.action is not Action.WITHDRAW)


def gather_decisions(decisions: Iterable[Decision], utterances: Sequence[Utterance]) -> Decided:
    """Sort out the decisions of a drive; `utterances` in order of time.

    An added entry belongs to the utterance that began last before it was read off. One whose adding was withdrawn stays,
    rejected.
    """
    decisions = tuple(decisions)
    gone = withdrawals(decisions)
    about: dict[str, Decision] = {}
    added: list[Entry] = []
    issues: list[Issue] = []
    for decision in sorted(decisions, key=lambda each: each.id):
        if decision.action is Action.WITHDRAW:
            continue
        if decision.action is not Action.ADD:
            if decision.id not in gone:
                about[decision.entry_id] = decision
        elif (
            decision.at_ns is None
            or not utterances
            or (decision.value is None) != (is_note(decision) and bool(decision.note))
        ):
            message = (
                f"decision {decision.id} adds an entry without a time, a value or an utterance to go with"
            )
            issues.append(Issue("decision_incomplete", message))
        else:
            added.append(_added(decision, decision.at_ns, utterances, gone))
    return Decided(about, tuple(added), tuple(issues))


def orphaned(
    decided: Decided, entry_ids: Iterable[str], utterances: Iterable[Utterance]
) -> tuple[tuple[Entry, ...], tuple[Issue, ...]]:
    """Return entries for the decided values whose own entry is no longer there, and what could not be kept."""
    known = set(entry_ids)
    by_id = {str(utterance.id): utterance for utterance in utterances}
    entries, issues = [], []
    for entry_id, decision in decided.about.items():
        if entry_id in known:
            continue
        utterance = by_id.get(entry_id.split("-", maxsplit=1)[0])
        keeps = decided.value_of(entry_id) is not None or (is_note(decision) and decision.note)
        if keeps and utterance is not None:
            entries.append(_typed(decision, entry_id, utterance.id, utterance.start_ns, Status.CORRECTED))
        else:
            message = f"decision {decision.id} is about entry {entry_id}, which is not there (any more)"
            issues.append(Issue("decision_orphan", message))
    return tuple(entries), tuple(issues)


def _added(
    decision: Decision, at_ns: int, utterances: Sequence[Utterance], gone: Mapping[int, Decision]
) -> Entry:
    nearest = max(
        (each for each in utterances if each.start_ns <= at_ns),
        key=lambda each: each.start_ns,
        default=utterances[0],
    )
    entry = _typed(decision, added_id(decision), nearest.id, at_ns, Status.ACCEPTED)
    withdrawn = gone.get(decision.id)
    if withdrawn is None:
        return entry
    reason = f"{entry.reason}; {_because(f'withdrawn by {withdrawn.who}', withdrawn)}"
    return replace(entry, status=Status.REJECTED, reason=reason)


def _typed(decision: Decision, entry_id: str, utterance_id: int, at_ns: int, status: Status) -> Entry:
    return Entry(
        id=entry_id,
        utterance_id=utterance_id,
        at_ns=at_ns,
        quantity=decision.quantity,
        value=decision.value,
        unit=decision.unit,
        status=status,
        confidence=1.0,
        origin=Origin.TYPED,
        heard="",
        note=decision.note,
        reason=_because(f"typed by {decision.who}", decision),
    )


def _as_decided(entry: Entry, decision: Decision) -> Entry:
    if decision.action is Action.REJECT:
        reason = _because(f"rejected by {decision.who}", decision)
        return replace(entry, status=Status.REJECTED, reason=reason)
    decided = entry
    if decision.value is not None:
        decided = replace(
            entry, quantity=decision.quantity, value=decision.value, unit=decision.unit, note=""
        )
    elif is_note(decision) and decision.note:
        decided = replace(entry, quantity=NOTE, value=None, unit="", note=decision.note)
    changed = _content(decided) != _content(entry)
    origin = Origin.TYPED if changed else entry.origin
    if decision.action is Action.ACCEPT:
        reason = _because(f"accepted by {decision.who}", decision)
        return replace(decided, status=Status.ACCEPTED, confidence=1.0, origin=origin, reason=reason)
    was = entry.note
    if entry.value is not None:
        was = told(entry.quantity, entry.value, entry.unit)
    instead = f" instead of {was}" if was else ""
    reason = _because(f"typed by {decision.who}{instead}", decision)
    return replace(decided, status=Status.CORRECTED, confidence=1.0, origin=Origin.TYPED, reason=reason)


def _content(entry: Entry) -> tuple[str, Decimal | None, str, str]:
    return entry.quantity, entry.value, entry.unit, entry.note


def _because(what: str, decision: Decision) -> str:
    return f"{what}: {decision.why}" if decision.why else what
