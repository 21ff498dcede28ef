"""How an entry came about, as one JSON object; docs/formats.md says what its members mean."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from logger.core.history import history_of, step_members
from logger.core.json_text import json_text
from logger.core.utc import format_utc

if TYPE_CHECKING:
    from logger.core.explaining import Explanation, Judged, Neighbour, Possibility, StepWeight, Weighing
    from logger.model import Entry
    from logger.wiring.explaining import Account

Json = Mapping[str, object]


def account_json(account: Account) -> str:
    """Return how an entry came about as one line of JSON (RFC 8259). Values keep the digits they were said with."""
    place = account.place
    return json_text(
        {
            "entry": _entry(account.entry)
            | {
                "at": format_utc(account.at_utc_ns),
                "elapsed_s": account.entry.at_ns / 1e9,
                "gps_distance_km": None if place is None else place.distance_m / 1000,
                "clip": account.clip or None,
                "logged": account.logged,
            },
            "now": None if account.now is None else _entry(account.now),
            **_heard(account.explanation),
            "weighing": _weighing(account.explanation.weighing),
            "decisions": [
                step_members(step) for step in history_of(account.entry.id, account.explanation.decisions)
            ],
        }
    )


def _entry(entry: Entry) -> dict[str, object]:
    return {
        "entry_id": entry.id,
        "quantity": entry.quantity,
        "value": entry.value,
        "unit": entry.unit,
        "status": entry.status.value,
        "probability": entry.confidence,
        "origin": entry.origin.value,
        "heard": entry.heard,
        "note": entry.note,
        "reason": entry.reason,
    }


def _heard(explained: Explanation) -> Json:
    return {
        "recogniser": explained.recogniser or None,
        "answers": [
            {"text": each.text, "score": each.score, "weight": each.weight} for each in explained.answers
        ],
        "unlisted": explained.unlisted,
        "trust": None
        if explained.trust is None
        else {
            "weight": explained.trust.weight,
            "sharpness": explained.trust.sharpness,
            "habits": dict(explained.trust.habits),
        },
    }


def _weighing(weighing: Weighing | None) -> Json | None:
    if weighing is None:
        return None
    course = weighing.course
    return {
        "possibilities": [_possibility(each) for each in weighing.possibilities],
        "none": {"weight": weighing.none_weight, "probability": weighing.none_probability},
        "others": [
            {"quantity": each.quantity, "text": each.text, "words": each.words, "weight": each.weight}
            for each in weighing.others
        ],
        "before": _neighbour(weighing.before),
        "after": _neighbour(weighing.after),
        "course": {
            "slope": course.slope,
            "slope_sd": course.slope_sd,
            "wander": course.wander,
            "jitter": course.jitter,
            "unit": weighing.heard.observed.base_unit,
            "along": "h" if course.by_time else "km",
            "in_logs": course.in_logs,
            "clock_ahead_min": weighing.clock_ahead_min,
            "expected": weighing.expected or None,
        },
        "rules": {
            "heard": _judged(weighing.heard),
            "likeliest": _judged(weighing.likeliest),
            "judged_to_after": weighing.leads_on,
        },
    }


def _possibility(each: Possibility) -> Json:
    return {
        "value": each.observed.value,
        "unit": each.observed.unit,
        "words": each.words,
        "first": each.first,
        "guessed": each.guessed,
        "weight": each.weight,
        "log_alone": each.alone,
        "from_before": _step(each.from_before),
        "to_after": _step(each.to_after),
        "surprise": each.surprise,
        "probability": each.probability,
    }


def _step(step: StepWeight | None) -> Json | None:
    return None if step is None else {"log_usual": step.usual, "log_surprise": step.surprise}


def _neighbour(neighbour: Neighbour | None) -> Json | None:
    if neighbour is None:
        return None
    return {
        "entry_id": neighbour.entry_id or None,
        "value": neighbour.observed.value,
        "unit": neighbour.observed.unit,
        "elapsed_s": neighbour.observed.at_ns / 1e9,
        "away_s": neighbour.seconds,
        "away_km": neighbour.km,
    }


def _judged(judged: Judged) -> Json:
    return {
        "value": judged.observed.value,
        "unit": judged.observed.unit,
        "verdicts": [
            {"rule": each.rule, "outcome": each.outcome.value, "message": each.message}
            for each in judged.verdicts
        ],
    }
