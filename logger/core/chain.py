"""What each reading of one quantity was, by all that was heard of it over the drive. Pure.

Each reading is in one of its options or *none of these*. The chain's weight is the product of

- each reading's acoustic weight of the option taken, or of none;
- the odds of each value taken by itself;
- the odds of each step between two values taken that follow each other, as the sum of a usual and a surprising way.

Odds are densities over that of a value out of the blue, so none needs none: a reading that is left out says nothing of
the drive. Steps reach over at most `REACH - 1` readings left out; further apart a value may be anything, for the price of a
surprise. So the work grows in proportion to the number of readings.

`posterior` sums over all chains (the forward-backward algorithm: Rabiner, Proceedings of the IEEE 77(2), 1989, section
III, cited from memory; the tests hold it to the sum over all chains written out), exactly but for that reach.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logger.core.plausible.odds import ANYTHING, Odds
from logger.core.plausible.strand import Floats

_TOO_SMALL, _TOO_LARGE = 1e-100, 1e100
_MOST_LOG = 600.0


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is known of n readings with up to m options.

    Attributes:
        options: probability of each option, shape (n, m).
        none: probability of none of them, shape (n,).
        surprise_before: probability that an option, if it is the true one, was reached by a surprise, shape (n, m).
        surprise_after: the same for the step that leads on from it.
        likeliest: the likeliest option, shape (n,).
    """

    options: Floats
    none: Floats
    surprise_before: Floats
    surprise_after: Floats
    likeliest: NDArray[np.intp]


def posterior(log_weight: Floats, log_none: Floats, odds: Odds) -> Posterior:
    """Return the probability of every option of every reading.

    Args:
        log_weight: natural logs of acoustic weights and odds alone, shape (n, m); -inf where there is no option.
        log_none: of none of the options, shape (n,).
        odds: of the steps between them, shape (n, REACH, m, m).
    """
    # Each reading's weights as shares of its best one: the same factor in every chain.
    best = np.maximum(log_weight.max(axis=1), log_none)
    weight, none = np.exp(log_weight - best[:, None]), np.exp(log_none - best)
    usual, surprise = np.exp(odds.usual), np.exp(odds.surprise)
    forward = _pass(weight, none, usual, surprise)
    leaving = _as_leaving(usual)[::-1], _as_leaving(surprise)[::-1]
    backward = _pass(weight[::-1], none[::-1], *leaving)
    up_to, from_on = forward.reached * weight, backward.reached[::-1]
    log_scale = forward.log_scale + backward.log_scale[::-1] - forward.log_total
    share = np.minimum(1.0, up_to * from_on * np.exp(np.minimum(log_scale, _MOST_LOG))[:, None])
    return Posterior(
        share,
        np.maximum(0.0, 1.0 - share.sum(axis=1)),
        _surprising(forward.usually, forward.reached),
        _surprising(backward.usually[::-1], from_on),
        np.argmax(share, axis=1),
    )


@dataclass(frozen=True, slots=True)
class _Pass:
    """One pass over the readings, from either end.

    Attributes:
        reached: the weight of all chains that come to each option, its own weight not in it, shape (n, m).
        usually: the same of those whose step to it is a usual one or that begin there.
        log_scale: what the logs of both are short of, shape (n,).
        log_total: the log weight of all chains.
    """

    reached: Floats
    usually: Floats
    log_scale: Floats
    log_total: float


def _pass(weight: Floats, none: Floats, usual: Floats, surprise: Floats) -> _Pass:
    """Go over the readings in the order given; steps have shape (n, REACH, m, m): to, how far back, from value, to value."""
    count, reach, width, _ = usual.shape
    both = np.concatenate((usual + surprise, usual), axis=3).reshape(count, reach * width, 2 * width)
    reached, usually = np.empty((count, width)), np.empty((count, width))
    log_scale = np.empty(count)
    # What ends in each of the last readings, newest first, in which all later ones are left out; the same further
    # back than a step reaches; and nothing taken yet. All of it short of the same scale.
    ending, further, begin, scale = np.zeros((reach, width)), 0.0, 1.0, 0.0
    for here in range(count):
        came = ending.reshape(-1) @ both[here]
        reached[here] = came[:width] + begin + further * ANYTHING
        usually[here] = came[width:] + begin
        log_scale[here] = scale
        left_out = none[here]
        further = (further + ending[-1].sum()) * left_out
        begin *= left_out
        ending[1:] = ending[:-1] * left_out
        ending[0] = reached[here] * weight[here]
        largest = max(float(ending.max()), begin, further)
        if not _TOO_SMALL < largest < _TOO_LARGE and largest > 0.0:
            ending /= largest
            further, begin = further / largest, begin / largest
            scale += math.log(largest)
    total = float(ending.sum()) + further + begin
    return _Pass(reached, usually, log_scale, (math.log(total) if total > 0.0 else 0.0) + scale)


def _as_leaving(steps: Floats) -> Floats:
    """Return steps by the reading they leave: [earlier, how many ahead less one, value of the later, of the earlier]."""
    count, reach, width, _ = steps.shape
    leaving = np.zeros((count, reach, width, width))
    for ahead in range(1, min(reach, count - 1) + 1):
        leaving[: count - ahead, ahead - 1] = steps[ahead:, ahead - 1].transpose(0, 2, 1)
    return leaving


def _surprising(usually: Floats, reached: Floats) -> Floats:
    """Return the share of a weight that is not the usual one's."""
    return np.where(reached > 0.0, 1.0 - usually / np.where(reached > 0.0, reached, 1.0), 0.0)
