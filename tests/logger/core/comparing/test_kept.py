"""A summary survives being kept as text."""

from __future__ import annotations

import pytest
from compared import summary

from logger.core.comparing.kept import from_text, to_text


def test_it_comes_back_the_same() -> None:
    """Every figure, reason, condition and point, to the last bit."""
    for each in (summary(), summary(None, tyres=None, temperature_c=0.1 + 0.2)):
        assert each == from_text(to_text(each))


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"figures": [{}]}', "null"])
def test_anything_else_is_refused(text: str) -> None:
    """By errors that whoever reads it can tell from others."""
    with pytest.raises((ValueError, KeyError, TypeError, AttributeError)):
        from_text(text)
