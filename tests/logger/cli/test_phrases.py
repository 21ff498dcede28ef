"""`odovox phrases`: the card, the grammar and the phrase list."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from outside_jsgf import read_jsgf


def test_the_card_is_printed(invoke: Callable[..., Result], tmp_path: Path) -> None:
    """The card shows every quantity; one that a sheet switches off is not on it."""
    assert "odometer" in invoke("phrases").stdout
    sheet = tmp_path / "sheet.toml"
    sheet.write_text("[quantity.odometer]\noff = true\n")
    assert "odometer" not in invoke("phrases", "--sheet", sheet).stdout


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_the_grammar_is_jsgf(invoke: Callable[..., Result]) -> None:
    """pyjsgf, an outside parser (whose own parser warns), reads the grammar and finds a command in it."""
    grammar = read_jsgf(invoke("phrases", "--jsgf").stdout)

    assert grammar.find_matching_rules("strike that")


def test_the_phrase_list_has_pairs(invoke: Callable[..., Result], tmp_path: Path) -> None:
    """The list is one phrase a line, words or pairs of words; it can go to a file."""
    lines = invoke("phrases", "--words").stdout.splitlines()

    assert {1, 2} == {len(line.split()) for line in lines}
    assert "sixty three" in lines
    assert 0 == invoke("phrases", "--words", "-o", tmp_path / "words.txt").exit_code
    assert lines == (tmp_path / "words.txt").read_text().splitlines()


@pytest.mark.parametrize("options", [("--jsgf", "--words"), ("extra",)])
def test_wrong_usage(options: tuple[str, ...], invoke: Callable[..., Result]) -> None:
    """Two forms at once, or an argument, end with 2."""
    assert 2 == invoke("phrases", *options).exit_code
