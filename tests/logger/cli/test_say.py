"""`odovox say`: readings as JSON lines, nothing and 1 for other words."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from click.testing import Result


def test_words_may_be_one_argument_or_many(invoke: Callable[..., Result]) -> None:
    """Quoted or not, the words mean the same."""
    result = invoke("say", "checkpoint sixty three percent")

    assert 0 == result.exit_code
    assert {"quantity": "charge", "value": 63, "unit": "%"} == json.loads(result.stdout)
    assert result.stdout == invoke("say", "checkpoint", "sixty", "three", "percent").stdout


def test_other_words_give_nothing(invoke: Callable[..., Result]) -> None:
    """Words outside the language: no output, exit code 1."""
    result = invoke("say", "checkpoint lovely weather")

    assert (1, "", "") == (result.exit_code, result.stdout, result.stderr)


def test_phrases_from_standard_input(invoke: Callable[..., Result]) -> None:
    """`say -` reads a phrase a line; the exit code is 1 when any of them means nothing."""
    typed = "checkpoint forty percent\nstrike that\n"

    result = invoke("say", "-", typed=typed)

    assert 0 == result.exit_code
    assert [
        '{"quantity": "charge", "value": 40, "unit": "%"}',
        '{"command": "strike"}',
    ] == result.stdout.splitlines()
    assert 1 == invoke("say", "-", typed=typed + "hello\n").exit_code


def test_a_sheet_decides(invoke: Callable[..., Result], tmp_path: Path) -> None:
    """With a sheet of kilometres a bare trip is in kilometres, and its lead word is the one to say."""
    sheet = tmp_path / "sheet.toml"
    sheet.write_text('lead = "reading"\nunits = "metric"\n')

    result = invoke("say", "--sheet", sheet, "reading trip forty two point one")

    assert {"quantity": "trip", "value": 42.1, "unit": "km"} == json.loads(result.stdout)
    assert 1 == invoke("say", "--sheet", sheet, "checkpoint forty percent").exit_code
