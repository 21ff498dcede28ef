"""Posteriors of a chain: held to the sum over all chains written out, and to a hidden Markov model worked by hand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from logger.core.chain import Chain, Posterior
from logger.core.plausible.odds import ANYTHING, Odds
from logger.core.plausible.strand import REACH

Floats = NDArray[np.float64]


def posterior(log_weight: Floats, log_none: Floats, odds: Odds) -> Posterior:
    """What a chain makes of steps laid out by reading, how far back, and options; impossible ones are none."""
    count, width = log_weight.shape
    at = np.nonzero(
        (np.arange(count)[:, None] > np.arange(REACH))[:, :, None, None]
        & (np.isfinite(odds.usual) | np.isfinite(odds.surprise))
    )
    chain = Chain(np.full(count, width), at)
    return chain.posterior(log_weight, log_none, odds.usual[at], odds.surprise[at])


def random_odds(count: int, width: int, seed: int) -> tuple[Floats, Floats, Odds]:
    """Weights, weights of none and odds of steps, as a drive may have them."""
    dice = np.random.default_rng(seed)
    weight = dice.normal(-2.0, 3.0, (count, width))
    weight[dice.random((count, width)) < 0.2] = -np.inf
    steps = (count, REACH, width, width)
    return (
        weight,
        dice.normal(-4.0, 2.0, count),
        Odds(dice.normal(1.0, 3.0, steps), dice.normal(-5.0, 1.0, steps)),
    )


def all_chains(weight: Floats, none: Floats, odds: Odds) -> tuple[Floats, Floats, Floats]:
    """Sum over every chain, by the definition in the module's docstring: options, none, and reached by surprise."""
    count, width = weight.shape
    options, left_out, surprised = np.zeros((count, width)), np.zeros(count), np.zeros((count, width))
    total = 0.0
    for chain in itertools.product([*range(width), None], repeat=count):
        ways = [(1.0, {})]  # weight so far, which readings were reached by a surprise
        last: int | None = None
        for here, taken in enumerate(chain):
            if taken is None:
                ways = [(w * math.exp(none[here]), by) for w, by in ways]
                continue
            own = math.exp(weight[here, taken])
            if last is None:
                ways = [(w * own, by) for w, by in ways]
            elif here - last > REACH:
                ways = [(w * own * ANYTHING, {**by, here: True}) for w, by in ways]
            else:
                step = (here, here - last - 1, chain[last], taken)
                usual, surprise = math.exp(odds.usual[step]), math.exp(odds.surprise[step])
                ways = [
                    (w * own * share, {**by, here: odd})
                    for w, by in ways
                    for share, odd in ((usual, False), (surprise, True))
                ]
            last = here
        for w, by in ways:
            total += w
            for here, taken in enumerate(chain):
                if taken is None:
                    left_out[here] += w
                else:
                    options[here, taken] += w
                    if by.get(here):
                        surprised[here, taken] += w
    return options / total, left_out / total, surprised / total


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 5), st.integers(1, 3), st.integers(0, 2**32 - 1))
def test_it_is_the_sum_over_all_chains(count: int, width: int, seed: int) -> None:
    """Every probability is that of the chains written out one by one."""
    weight, none, odds = random_odds(count, width, seed)
    options, left_out, surprised = all_chains(weight, none, odds)

    found = posterior(weight, none, odds)

    assert pytest.approx(options, abs=1e-9) == found.options
    assert pytest.approx(left_out, abs=1e-9) == found.none
    assert pytest.approx(surprised, abs=1e-9) == found.options * found.surprise_before


def test_beyond_its_reach_a_chain_begins_anew() -> None:
    """Seven readings of which the first and last may be taken: further apart than a step reaches."""
    count = REACH + 2
    weight = np.full((count, 1), -np.inf)
    weight[0] = weight[-1] = 0.0
    none = np.full(count, math.log(0.5))
    flat = np.zeros((count, REACH, 1, 1))
    found = posterior(weight, none, Odds(flat, flat - 3.0))

    both, one = 0.5 ** (count - 2) * ANYTHING, 0.5 ** (count - 1)
    total = both + 2.0 * one + 0.5**count
    assert pytest.approx((both + one) / total) == found.options[0, 0]
    assert pytest.approx(both / (both + one)) == found.surprise_before[-1, 0]
    assert pytest.approx(both / (both + one)) == found.surprise_after[0, 0]


def test_a_hidden_markov_model() -> None:
    """Without leaving out or surprises it is one: Rabiner's recursions (1989), here as plain sums over matrices."""
    dice = np.random.default_rng(5)
    seen, moves = dice.random((30, 3)), dice.random((3, 3))
    steps = np.full((30, REACH, 3, 3), -np.inf)
    steps[1:, 0] = np.log(moves)
    found = posterior(np.log(seen), np.full(30, -800.0), Odds(steps, np.full(steps.shape, -np.inf)))

    alpha, beta = np.zeros((30, 3)), np.ones((30, 3))
    alpha[0] = seen[0] / seen[0].sum()
    for t in range(1, 30):
        alpha[t] = seen[t] * (alpha[t - 1] @ moves)
        alpha[t] /= alpha[t].sum()
    for t in range(28, -1, -1):
        beta[t] = moves @ (seen[t + 1] * beta[t + 1])
        beta[t] /= beta[t].sum()
    gamma = alpha * beta
    assert pytest.approx(gamma / gamma.sum(axis=1, keepdims=True)) == found.options


def probabilities(found: Posterior) -> Floats:
    """Everything a posterior holds."""
    return np.concatenate(
        [found.options.ravel(), found.none, found.surprise_before.ravel(), found.surprise_after.ravel()]
    )


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 60), st.integers(0, 2**32 - 1), st.sampled_from([1.0, 30.0, 500.0]))
def test_however_strong_or_weak(count: int, seed: int, strength: float) -> None:
    """Weights of e^500 and e^-500 leave probabilities between 0 and 1 that add up to 1."""
    weight, none, odds = random_odds(count, 3, seed)
    found = posterior(weight * strength, none, odds)

    assert np.all((probabilities(found) >= 0.0) & (probabilities(found) <= 1.0 + 1e-9))
    assert pytest.approx(np.ones(count), abs=1e-6) == found.options.sum(axis=1) + found.none


def test_a_long_drive_does_not_run_out_of_numbers() -> None:
    """5,000 readings, each of which makes the whole e^8 likelier."""
    count = 5_000
    odds = np.full((count, REACH, 2, 2), 8.0)
    found = posterior(np.tile([-0.1, -2.0], (count, 1)), np.full(count, -7.0), Odds(odds, odds - 10.0))

    assert np.all(np.isfinite(probabilities(found)))
    assert (
        pytest.approx(math.exp(-0.1) / (math.exp(-0.1) + math.exp(-2.0)), abs=1e-3) == found.options[2_500, 0]
    )
