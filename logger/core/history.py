"""What people decided about one entry, from the first decision to the last, as text and as JSON. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from logger.core.decided import is_about, withdrawals
from logger.core.json_text import json_text
from logger.core.rules import told
from logger.core.utc import format_utc
from logger.model import Action, Decision, Status

_DID = {
    Action.ACCEPT: "accepted",
    Action.REPLACE: "changed",
    Action.REJECT: "rejected",
    Action.ADD: "added",
    Action.WITHDRAW: "withdrew",
}
STATUS_WORDS = {
    Status.ACCEPTED: "accepted",
    Status.FLAGGED: "in doubt",
    Status.CORRECTED: "corrected",
    Status.REJECTED: "rejected",
}
"""How a status is told to people."""


@dataclass(frozen=True, slots=True)
class Step:
    """A decision, and the one that withdrew it, if any does."""

    decision: Decision
    withdrawn_by: Decision | None


def history_of(entry_id: str, decisions: Sequence[Decision]) -> tuple[Step, ...]:
    """Return what was decided about an entry, in the order decided."""
    gone = withdrawals(decisions)
    return tuple(Step(each, gone.get(each.id)) for each in decisions if is_about(each, entry_id))


def step_text(step: Step) -> str:
    """Return a step as one line, without when and who: "changed charge 17 % (in doubt) to charge 75 %: heard again"."""
    decision = step.decision
    was = decision.was
    text = _DID[decision.action]
    if decision.action is Action.WITHDRAW:
        text += f" decision {decision.withdraws}"
    else:
        to = content_text(decision.quantity, decision.value, decision.unit, decision.note)
        if was is not None:
            seen = content_text(was.quantity, was.value, was.unit, was.note)
            text += f" {seen} ({STATUS_WORDS[was.status]})"
            if decision.action is Action.REPLACE:
                text += f" to {to}"
        elif decision.action is not Action.REJECT:
            text += f" to {to}" if decision.action is Action.REPLACE else f" {to}"
    if decision.words:
        text += f", typed as '{decision.words}'"
    if decision.why:
        text += f": {decision.why}"
    if step.withdrawn_by is not None:
        text += f" (withdrawn by decision {step.withdrawn_by.id})"
    return text


def content_text(quantity: str, value: Decimal | None, unit: str, note: str) -> str:
    """Return what an entry says: "charge 63 %", "note headwind", "a call that was not understood"."""
    if value is not None:
        return f"{quantity.replace('_', ' ')} {told(quantity, value, unit)}"
    if quantity == "unheard":
        return "a call that was not understood"
    return f"{quantity.replace('_', ' ')} {note}".rstrip()


def history_json(steps: Iterable[Step]) -> str:
    """Return a history as the text of a JSON array; values keep the digits they were said with."""
    return json_text([step_members(step) for step in steps])


def step_members(step: Step) -> dict[str, object]:
    """Return a step as the members of a JSON object; docs/formats.md says what they mean."""
    decision, was = step.decision, step.decision.was
    before = None
    if was is not None:
        before = {"status": was.status.value} | _content(was.quantity, was.value, was.unit, was.note)
    return {
        "id": decision.id,
        "at": format_utc(decision.at_utc_ns),
        "who": decision.who,
        "action": decision.action.value,
        "before": before,
        **_content(decision.quantity, decision.value, decision.unit, decision.note),
        "words": decision.words,
        "why": decision.why,
        "withdraws": decision.withdraws,
        "withdrawn_by": None if step.withdrawn_by is None else step.withdrawn_by.id,
    }


def _content(quantity: str, value: Decimal | None, unit: str, note: str) -> dict[str, object]:
    return {"quantity": quantity, "value": value, "unit": unit, "note": note}
