"""Shares of the next word."""

from __future__ import annotations

import math

import pytest

from grammar import Language, Phrasebook, arc_log_likelihoods


def test_shares_of_a_state_add_up_to_one() -> None:
    """Next words and stopping share one."""
    for shares, stop in arc_log_likelihoods(Language(Phrasebook()).automaton):
        total = sum(map(math.exp, shares.values())) + (math.exp(stop) if stop is not None else 0)
        assert pytest.approx(1) == total
