"""Typed words -> what they mean, as JSON lines."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from grammar import Command, Language, Meaning, Reading
from logger.core.table import plain


def meaning_lines(language: Language, words: str | Sequence[str]) -> tuple[str, ...]:
    """Return one JSON object for each reading or command of each meaning; none when the words mean nothing.

    Where the words have more than one meaning, `meaning` numbers them, and lines of one number belong together.
    A value is written with the digits that were said: 63.0 stays 63.0.
    """
    meanings = language.meanings(words)
    return tuple(
        line
        for number, meaning in enumerate(meanings, start=1)
        for line in _lines(meaning, number if len(meanings) > 1 else None)
    )


def _lines(meaning: Meaning, number: int | None) -> Iterable[str]:
    for part in meaning.parts:
        members = _reading(part) if isinstance(part, Reading) else _command(part)
        if number is not None:
            members["meaning"] = str(number)
        yield "{" + ", ".join(f"{json.dumps(key)}: {value}" for key, value in members.items()) + "}"


def _reading(reading: Reading) -> dict[str, str]:
    members = {
        "quantity": json.dumps(reading.quantity),
        "value": plain(reading.value),
        "unit": json.dumps(reading.unit),
    }
    return members | ({"correction": "true"} if reading.correction else {})


def _command(command: Command) -> dict[str, str]:
    return {"command": json.dumps(command.kind.value)} | (
        {"note": json.dumps(command.text)} if command.text else {}
    )
