"""Networks refuse what would never end."""

from __future__ import annotations

import pytest

from grammar import GrammarError
from grammar.network import Network
from grammar.nodes import Loop, maybe


def test_repeating_nothing_is_refused() -> None:
    """A loop around what may be empty has no end."""
    with pytest.raises(GrammarError):
        Network(Loop(maybe("one")))
