"""An outside JSGF library, given room on the stack."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jsgf import Grammar

_STACK = 5_000
"""Our language is deeply nested, and once matplotlib has been imported the library's parser remembers what it parsed, which takes
half as many frames again."""


def read_jsgf(text: str) -> Grammar:
    """Return a grammar as the library reads it."""
    from jsgf import parse_grammar_string

    before = sys.getrecursionlimit()
    sys.setrecursionlimit(_STACK)
    try:
        return parse_grammar_string(text)
    finally:
        sys.setrecursionlimit(before)
