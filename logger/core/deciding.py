"""What a person answers about an entry -> the decisions to be stored. Pure.

Every decision says what the entry was and what it is to be, so that the row tells the whole story by itself. Nothing is
guessed: an answer that can be understood in more than one way comes back as choices.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypeAlias

from grammar import Language
from logger.core.columns import NOTE, UNHEARD
from logger.core.decided import is_about, those_that_count
from logger.core.typed import MOST_NOTE, Typed, Way, as_note, quantity_of, understand
from logger.errors import AnswerError
from logger.model import Action, Before, Decision, Entry, Status


@dataclass(frozen=True, slots=True)
class Accept:
    """The entry is right as it is."""

    entry_id: str


@dataclass(frozen=True, slots=True)
class Take:
    """One of the entry's alternatives is right, by its place among them, from 0."""

    entry_id: str
    number: int


@dataclass(frozen=True, slots=True)
class Type:
    """What was really said. `choice` is the number (from 0) of the way to understand it, where there is more than one."""

    entry_id: str
    words: str
    choice: int | None = None


@dataclass(frozen=True, slots=True)
class Reject:
    """Nothing of the kind was said."""

    entry_id: str


@dataclass(frozen=True, slots=True)
class Undo:
    """The newest decision about the entry that still counts is to count no more; with `decision` only if it is that one."""

    entry_id: str
    decision: int | None = None


@dataclass(frozen=True, slots=True)
class EditNote:
    """What the note says is to be this, as it stands."""

    entry_id: str
    text: str


@dataclass(frozen=True, slots=True)
class AddMissed:
    """At a moment of the drive clock something was said that is in no entry; `choice` as `Type`."""

    at_ns: int
    words: str
    choice: int | None = None


Answer: TypeAlias = Accept | Take | Type | Reject | Undo | EditNote | AddMissed


@dataclass(frozen=True, slots=True)
class Choices:
    """An answer may mean any of these; the person chooses."""

    ways: tuple[Way, ...]

    @property
    def texts(self) -> tuple[str, ...]:
        """Each way as one text."""
        return tuple(", ".join(each.text for each in way) for way in self.ways)


@dataclass(frozen=True, slots=True)
class Answering:
    """What an answer is understood by.

    Attributes:
        entries: as they are now, with all their alternatives.
        decisions: all there are.
        language: what may be said on the drive.
        who: who answers.
        at_utc_ns: when.
        why: what the person says for it, "" for nothing.
    """

    entries: Sequence[Entry]
    decisions: Sequence[Decision]
    language: Language
    who: str
    at_utc_ns: int
    why: str = ""

    def decide(self, answer: Answer) -> tuple[Decision, ...] | Choices:
        """Return the decisions that an answer comes to, at least one; or what it may mean.

        Raises:
            AnswerError: there is no such entry, or the answer cannot be given about it.
        """
        if isinstance(answer, AddMissed):
            return self._add(answer)
        if isinstance(answer, Undo):
            return (self._undo(answer.entry_id, answer.decision),)
        entry = self._entry(answer.entry_id)
        if isinstance(answer, Accept):
            return (self._accept(entry),)
        if isinstance(answer, Reject):
            return (self._about(entry, Action.REJECT, Typed(entry.quantity, None, "")),)
        if isinstance(answer, EditNote):
            return (self._edit(entry, answer.text),)
        if isinstance(answer, Take):
            return (self._take(entry, answer.number),)
        return self._type(entry, answer)

    def usual_units(self) -> tuple[tuple[str, str], ...]:
        """Return every quantity of the drive's language with the unit it is mostly told in, those that were told first.

        One that was not has the sheet's unit.
        """
        told: dict[str, dict[str, int]] = {}
        for entry in self.entries:
            if entry.value is not None and entry.status is not Status.REJECTED:
                units = told.setdefault(entry.quantity, {})
                units[entry.unit] = units.get(entry.unit, 0) + 1
        return tuple(
            (
                quantity.name,
                max(told[quantity.name], key=told[quantity.name].__getitem__)
                if quantity.name in told
                else quantity.unit,
            )
            for quantity in sorted(
                self.language.phrasebook.quantities, key=lambda each: each.name not in told
            )
        )

    def _entry(self, entry_id: str) -> Entry:
        for entry in self.entries:
            if entry.id == entry_id:
                return entry
        raise AnswerError(f"there is no entry {entry_id!r}; `odovox log DRIVE --all` lists them")

    def _accept(self, entry: Entry) -> Decision:
        if entry.quantity == UNHEARD:
            raise AnswerError(
                f"entry {entry.id} was not understood, so there is nothing to accept; type what was said, or reject it"
            )
        return self._about(entry, Action.ACCEPT, Typed(entry.quantity, entry.value, entry.unit, entry.note))

    def _take(self, entry: Entry, number: int) -> Decision:
        if not 0 <= number < len(entry.alternatives):
            raise AnswerError(f"entry {entry.id} has no alternative {number + 1}")
        other = entry.alternatives[number]
        quantity = quantity_of(other.heard, other.value, other.unit, entry.quantity, self.language)
        return self._about(entry, Action.REPLACE, Typed(quantity, other.value, other.unit))

    def _edit(self, entry: Entry, text: str) -> Decision:
        if entry.quantity != NOTE:
            raise AnswerError(f"entry {entry.id} is no note; type its value instead")
        note = as_note(text)
        if not note:
            raise AnswerError("a note needs some text; to take it out, reject it")
        return self._about(entry, Action.REPLACE, Typed(NOTE, None, "", note), text[:MOST_NOTE])

    def _type(self, entry: Entry, answer: Type) -> tuple[Decision, ...] | Choices:
        own = entry.quantity not in (NOTE, UNHEARD)
        about = ((entry.quantity, entry.unit),) if own else self.usual_units()
        way = self._understood(answer.words, answer.choice, about, entry.quantity if own else "")
        if isinstance(way, Choices):
            return way
        first, *rest = way
        decisions = [self._about(entry, Action.REPLACE, first, answer.words)]
        decisions += [self._adds(entry.at_ns, each, answer.words) for each in rest]
        return tuple(decisions)

    def _add(self, answer: AddMissed) -> tuple[Decision, ...] | Choices:
        way = self._understood(answer.words, answer.choice, self.usual_units(), "")
        if isinstance(way, Choices):
            return way
        return tuple(self._adds(answer.at_ns, each, answer.words) for each in way)

    def _understood(
        self, words: str, choice: int | None, about: Sequence[tuple[str, str]], quantity: str
    ) -> Way | Choices:
        ways = understand(words, self.language, about)
        if not ways:
            shown = " ".join(words.split())[:40]
            raise AnswerError(f"'{shown}' is nothing that can be called out; {self._examples(quantity)}")
        if len(ways) == 1:
            return ways[0]
        if choice is None:
            return Choices(ways)
        if not 0 <= choice < len(ways):
            raise AnswerError(f"'{words}' may mean {len(ways)} things; choose one of them by its number")
        return ways[choice]

    def _examples(self, name: str) -> str:
        for quantity in self.language.phrasebook.quantities:
            if quantity.name == name and not quantity.clock:
                most = quantity.highest
                places = f" with up to {quantity.places} decimals" if quantity.places else ""
                return (
                    f"a {name.replace('_', ' ')} is a number up to {most}{places}, in digits or words, with or without "
                    "its unit"
                )
            if quantity.name == name:
                return "a time is typed like 7:40, 19:40 or seven forty p m"
        return "say it as in the car, such as 63 %, trip 42.1, or note headwind"

    def _undo(self, entry_id: str, decision: int | None) -> Decision:
        standing = [each for each in those_that_count(self.decisions) if is_about(each, entry_id)]
        if not standing:
            self._entry(entry_id)
            raise AnswerError(f"nobody has decided anything about entry {entry_id} that could be undone")
        last = standing[-1]
        if decision is not None and decision != last.id:
            raise AnswerError(
                f"{last.who} has decided about entry {entry_id} since; open that entry to undo what counts now"
            )
        was = next((_before(entry) for entry in self.entries if entry.id == entry_id), None)
        decided = self._decided(Action.WITHDRAW, Typed(last.quantity, None, ""))
        return replace(decided, entry_id=entry_id, was=was, withdraws=last.id)

    def _about(self, entry: Entry, action: Action, to: Typed, words: str = "") -> Decision:
        return replace(self._decided(action, to, words), entry_id=entry.id, was=_before(entry))

    def _adds(self, at_ns: int, to: Typed, words: str) -> Decision:
        return replace(self._decided(Action.ADD, to, words), at_ns=at_ns)

    def _decided(self, action: Action, to: Typed, words: str = "") -> Decision:
        """Return a decision with all but what it is about."""
        return Decision(
            id=0,
            at_utc_ns=self.at_utc_ns,
            who=self.who,
            action=action,
            entry_id="",
            quantity=to.quantity,
            value=to.value,
            unit=to.unit,
            at_ns=None,
            why=self.why,
            note=to.note,
            words=words,
        )


@dataclass(frozen=True, slots=True)
class Effect:
    """What decisions did to the drive, entry by entry; each pair is the entry before and after.

    Attributes:
        vanished: was in doubt and is no more, without anybody having decided about it.
        appeared: is in doubt and was not.
        changed: has another value or status for another reason.
    """

    vanished: tuple[tuple[Entry, Entry | None], ...]
    appeared: tuple[tuple[Entry | None, Entry], ...]
    changed: tuple[tuple[Entry, Entry], ...]


def effect(before: Iterable[Entry], after: Iterable[Entry], decided_about: Iterable[str]) -> Effect:
    """Return what became of the other entries, leaving out those that were decided about."""
    own = set(decided_about)
    was = {entry.id: entry for entry in before if entry.id not in own}
    now = {entry.id: entry for entry in after if entry.id not in own}
    vanished: list[tuple[Entry, Entry | None]] = []
    appeared: list[tuple[Entry | None, Entry]] = []
    changed: list[tuple[Entry, Entry]] = []
    for entry_id, old in was.items():
        new = now.get(entry_id)
        if old.status is Status.FLAGGED and (new is None or new.status is not Status.FLAGGED):
            vanished.append((old, new))
        elif new is not None and new.status is Status.FLAGGED and old.status is not Status.FLAGGED:
            appeared.append((old, new))
        elif new is not None and _before(old) != _before(new):
            changed.append((old, new))
    appeared += [
        (None, new) for entry_id, new in now.items() if entry_id not in was and new.status is Status.FLAGGED
    ]
    return Effect(tuple(vanished), tuple(appeared), tuple(changed))


def doubts(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return the entries in doubt, in the order of the drive."""
    return tuple(entry for entry in entries if entry.status is Status.FLAGGED)


@dataclass(frozen=True, slots=True)
class Ranked:
    """One thing an entry may be. `number` is its place among the alternatives, None for what the entry is now."""

    quantity: str
    value: Decimal
    unit: str
    heard: str
    probability: float
    number: int | None


def ranked(entry: Entry, language: Language) -> tuple[Ranked, ...]:
    """Return what an entry may be, likeliest first."""
    rows = [
        Ranked(
            quantity_of(each.heard, each.value, each.unit, entry.quantity, language),
            each.value,
            each.unit,
            each.heard,
            each.confidence,
            number,
        )
        for number, each in enumerate(entry.alternatives)
    ]
    if entry.value is not None:
        rows.append(Ranked(entry.quantity, entry.value, entry.unit, entry.heard, entry.confidence, None))
    return tuple(sorted(rows, key=lambda row: -row.probability))


def _before(entry: Entry) -> Before:
    return Before(entry.status, entry.quantity, entry.value, entry.unit, entry.note)
