"""Typed text to spoken words."""

from __future__ import annotations

import pytest

from grammar.spelling import spoken_words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Checkpoint: sixty-three per cent!", ("checkpoint", "sixty", "three", "percent")),
        ("nine kilometres", ("nine", "kilometers")),
        ("seven forty A.M.", ("seven", "forty", "a", "m")),
        ("", ()),
    ],
)
def test_spelling_is_folded(text: str, words: tuple[str, ...]) -> None:
    """Case, punctuation and British spelling don't matter."""
    assert words == spoken_words(text)
