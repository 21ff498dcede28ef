"""Arrays of charts cannot be changed by who draws them."""

from __future__ import annotations

import pytest

from logger.core.results.series import floats


def test_floats() -> None:
    """A list becomes an array of doubles that is read-only; an empty one has shape (0,)."""
    array = floats([1, 2.5])

    assert [1.0, 2.5] == array.tolist()
    assert (0,) == floats([]).shape
    with pytest.raises(ValueError, match="read-only"):
        array[0] = 3.0
