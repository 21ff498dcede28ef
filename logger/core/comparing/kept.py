"""A summary as JSON text and back, so that it can be kept beside its drive. Pure."""

from __future__ import annotations

import json
from dataclasses import asdict

from logger.core.comparing.summary import Conditions, Course, Summary
from logger.core.results.figures import Absent, Answer, Figure, Line


def to_text(summary: Summary) -> str:
    """Return a summary as JSON.

    Raises:
        ValueError: it holds a number that JSON has no way to write.
    """
    return json.dumps(asdict(summary), allow_nan=False)


def from_text(text: str) -> Summary:
    """Return the summary that `to_text` gave, the same to the last bit.

    Raises:
        ValueError, KeyError, TypeError: the text is not such JSON.
    """
    kept = json.loads(text)
    figures = tuple(Line(each["key"], each["label"], _answer(each["answer"])) for each in kept.pop("figures"))
    conditions = Conditions(**kept.pop("conditions"))
    charge, projected = (
        Course(tuple(each["km"]), tuple(each["values"]))
        for each in (kept.pop("charge"), kept.pop("projected"))
    )
    return Summary(figures=figures, conditions=conditions, charge=charge, projected=projected, **kept)


def _answer(kept: dict[str, object]) -> Answer:
    return Absent(**kept) if "why" in kept else Figure(**kept)  # type: ignore[arg-type]
