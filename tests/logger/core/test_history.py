"""What was decided about an entry is told in order, with what was withdrawn."""

from __future__ import annotations

import json
from decimal import Decimal

from logger.core.history import content_text, history_json, history_of, step_text
from logger.model import Action, Before, Decision, Status

WAS = Before(Status.FLAGGED, "charge", Decimal(17), "%", "")
FIRST = Decision(
    1, 0, "Ada", Action.REPLACE, "3-1", "charge", Decimal("75.0"), "%", None, "again", "", "75.0", WAS
)
OTHER = Decision(2, 0, "Bo", Action.REJECT, "4-1", "charge", None, "", None, "", was=WAS)
UNDONE = Decision(3, 0, "Bo", Action.WITHDRAW, "3-1", "charge", None, "", None, "", was=WAS, withdraws=1)
ADDED = Decision(4, 0, "Bo", Action.ADD, "", "note", None, "", 7, "", "rain", "note rain")
ALL = (FIRST, OTHER, UNDONE, ADDED)


def test_as_text() -> None:
    """Each with what the entry was, what it became, and why."""
    first, undone = history_of("3-1", ALL)

    assert (
        "changed charge 17 % (in doubt) to charge 75.0 %, typed as '75.0': again (withdrawn by decision 3)"
        == step_text(first)
    )
    assert "withdrew decision 1" == step_text(undone)
    assert ["rejected charge 17 % (in doubt)"] == [step_text(each) for each in history_of("4-1", ALL)]
    assert ["added note rain, typed as 'note rain'"] == [
        step_text(each) for each in history_of("added-4", ALL)
    ]
    assert "a call that was not understood" == content_text("unheard", None, "", "")


def test_as_json() -> None:
    """Every member, values with their digits."""
    text = history_json(history_of("3-1", ALL))
    first, undone = json.loads(text)

    assert '"value": 75.0, "unit": "%"' in text
    assert {"status": "flagged", "quantity": "charge", "value": 17, "unit": "%", "note": ""} == first[
        "before"
    ]
    assert (3, None, 1) == (first["withdrawn_by"], undone["withdrawn_by"], undone["withdraws"])
    assert "1970-01-01T00:00:00.000Z" == first["at"]
    assert "[]" == history_json(history_of("9-9", ALL))


def test_a_withdrawal_may_be_withdrawn() -> None:
    """Then what it undid counts again."""
    redone = Decision(5, 0, "Bo", Action.WITHDRAW, "3-1", "charge", None, "", None, "", withdraws=3)
    first, undone, _ = history_of("3-1", (*ALL, redone))

    assert first.withdrawn_by is None
    assert redone == undone.withdrawn_by
