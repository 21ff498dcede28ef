"""Records to columns and back: spoken values as text, heard words as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from logger.core.fix_columns import FixColumns
from logger.model import (
    Action,
    Alternative,
    Before,
    Decision,
    Entry,
    Fix,
    HeardWord,
    Hypothesis,
    Origin,
    Source,
    Status,
    Utterance,
)

Row = tuple[Any, ...]

SOURCE = "id, name, sha256, start_ns, sample_count"
UTTERANCE = "id, source_id, first_sample, sample_count, start_ns, clip"
HYPOTHESIS = "rank, words, score, ear_scores"
FIX = "utc_ns, lat_deg, lon_deg, altitude_m, speed_mps, hdop"
DECISION = (
    "id, at_utc_ns, who, action, entry_id, quantity, value, unit, at_ns, why, note, words, "
    "was_status, was_quantity, was_value, was_unit, was_note, withdraws"
)
ALTERNATIVE = "value, unit, heard, confidence"
ENTRY = "id, utterance_id, at_ns, quantity, value, unit, status, confidence, origin, heard, note, reason"


def value_text(value: Decimal | None) -> str | None:
    """Return a spoken value as the text it is kept as: plain digits, every said decimal, no exponent.

    Raises:
        ValueError: the value is no finite number.
    """
    if value is None:
        return None
    if not value.is_finite():
        raise ValueError(f"{value} cannot have been said")
    return format(value, "f")


def value_of(text: str | None) -> Decimal | None:
    """Return the value kept as `text`."""
    return None if text is None else Decimal(text)


def hypothesis_row(answer: Hypothesis) -> Row:
    """Return a hypothesis as the columns `HYPOTHESIS`; words are a JSON array of [text, start_ns, end_ns, confidence]."""
    words = [[word.text, word.start_ns, word.end_ns, word.confidence] for word in answer.words]
    apart = json.dumps(answer.ear_scores) if answer.ear_scores else None
    return answer.rank, json.dumps(words), answer.score, apart


def hypothesis_of(row: Row) -> Hypothesis:
    """Return the hypothesis kept as the columns `HYPOTHESIS`."""
    rank, words, score, apart = row
    return Hypothesis(
        rank,
        tuple(HeardWord(*word) for word in json.loads(words)),
        score,
        tuple(json.loads(apart)) if apart else (),
    )


def source_of(row: Row) -> Source:
    """Return the source kept as the columns `SOURCE`."""
    return Source(*row)


def utterance_of(row: Row) -> Utterance:
    """Return the utterance kept as the columns `UTTERANCE`."""
    return Utterance(*row)


def fix_of(row: Row) -> Fix:
    """Return the fix kept as the columns `FIX`."""
    return Fix(*row)


def fix_columns(rows: Iterable[Row]) -> FixColumns:
    """Return the fixes kept as rows of the columns `FIX`, each column as one array; they are taken in one by one, and none kept."""
    import numpy as np

    names = FIX.split(", ")
    kinds = [(name, np.int64 if name == "utc_ns" else np.float64) for name in names]
    # NULL is None, of which numpy makes NaN.
    table = np.fromiter(rows, dtype=np.dtype(kinds))
    return FixColumns(*(np.ascontiguousarray(table[name]) for name in names))


def fix_row(fix: Fix) -> Row:
    """Return the columns `FIX` of a fix."""
    return (fix.utc_ns, fix.lat_deg, fix.lon_deg, fix.altitude_m, fix.speed_mps, fix.hdop)


NOT_REVIEWED: Row = ("", "", None, None, None, None, None, None)
"""The last columns of `DECISION` of one that was kept before there were reviews."""


def decision_of(row: Row) -> Decision:
    """Return the decision kept as the columns `DECISION`."""
    number, at_utc_ns, who, action, entry_id, quantity, value, unit, at_ns, why, note, words, *rest = row
    *was, withdraws = rest
    return Decision(
        number,
        at_utc_ns,
        who,
        Action(action),
        entry_id,
        quantity,
        value_of(value),
        unit,
        at_ns,
        why,
        note,
        words,
        None if was[0] is None else Before(Status(was[0]), was[1], value_of(was[2]), was[3], was[4]),
        withdraws,
    )


def decision_row(decision: Decision) -> Row:
    """Return the columns `DECISION` of a decision, without its id."""
    was = decision.was
    return (
        decision.at_utc_ns,
        decision.who,
        decision.action.value,
        decision.entry_id,
        decision.quantity,
        value_text(decision.value),
        decision.unit,
        decision.at_ns,
        decision.why,
        decision.note,
        decision.words,
        *(
            (None,) * 5
            if was is None
            else (was.status.value, was.quantity, value_text(was.value), was.unit, was.note)
        ),
        decision.withdraws,
    )


def entry_of(row: Row, alternatives: tuple[Alternative, ...]) -> Entry:
    """Return the entry kept as the columns `ENTRY`."""
    number, utterance_id, at_ns, quantity, value, unit, status, confidence, origin, heard, note, reason = row
    return Entry(
        number,
        utterance_id,
        at_ns,
        quantity,
        value_of(value),
        unit,
        Status(status),
        confidence,
        Origin(origin),
        heard,
        note,
        reason,
        alternatives,
    )


def entry_row(entry: Entry) -> Row:
    """Return the columns `ENTRY` of an entry."""
    return (
        entry.id,
        entry.utterance_id,
        entry.at_ns,
        entry.quantity,
        value_text(entry.value),
        entry.unit,
        entry.status.value,
        entry.confidence,
        entry.origin.value,
        entry.heard,
        entry.note,
        entry.reason,
    )


def alternative_of(row: Row) -> Alternative:
    """Return the alternative kept as the columns `ALTERNATIVE`."""
    value, unit, heard, confidence = row
    return Alternative(Decimal(value), unit, heard, confidence)


def alternative_row(alternative: Alternative) -> Row:
    """Return the columns `ALTERNATIVE` of an alternative."""
    return (value_text(alternative.value), alternative.unit, alternative.heard, alternative.confidence)
