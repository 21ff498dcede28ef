"""Spoken values and heard words are kept as text that loses nothing."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logger.model import HeardWord, Hypothesis
from logger.store.records import hypothesis_of, hypothesis_row, value_of, value_text


@given(digits=st.integers(-(10**30), 10**30), places=st.integers(0, 6))
def test_values_stay_as_said(digits: int, places: int) -> None:
    """Any value comes back with the very digits it had, trailing zeros included."""
    value = Decimal(f"{digits}E-{places}")
    text = value_text(value)
    kept = value_of(text)

    assert kept is not None
    assert value.as_tuple() == kept.as_tuple()
    assert text is not None
    assert "E" not in text


@pytest.mark.parametrize(
    ("value", "text"), [("63.0", "63.0"), ("1E+2", "100"), ("-.5", "-0.5"), ("0.00", "0.00")]
)
def test_the_text_of_values(value: str, text: str) -> None:
    """The text is plain digits with the decimals that were said."""
    assert text == value_text(Decimal(value))


def test_no_value_stays_none() -> None:
    """An entry without a value has none in the store either."""
    assert value_text(None) is None
    assert value_of(None) is None


@given(
    st.lists(
        st.builds(
            HeardWord,
            st.text(),
            st.none() | st.integers(0, 2**63 - 1),
            st.none() | st.integers(0, 2**63 - 1),
            st.none() | st.floats(0, 1),
        )
    ).map(tuple),
    st.none() | st.floats(allow_nan=False),
    st.lists(st.floats(allow_nan=False, allow_infinity=False), max_size=3).map(tuple),
)
def test_answers_come_back(
    words: tuple[HeardWord, ...], score: float | None, apart: tuple[float, ...]
) -> None:
    """Any words, times, confidences and scores come back exactly."""
    answer = Hypothesis(3, words, score, apart)

    assert answer == hypothesis_of(hypothesis_row(answer))
