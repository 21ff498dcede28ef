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
    usual = np.exp(odds.usual)
    both = usual + np.exp(odds.surprise)
    forward = _pass(weight, none, usual, both)
    leaving = _as_leaving(usual)[::-1], _as_leaving(both)[::-1]
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


def _pass(weight: Floats, none: Floats, usual: Floats, both: Floats) -> _Pass:
    """Go over the readings in the order given; steps have shape (n, REACH, m, m): to, how far back, from value, to value.

    Only the weight of what ends in each reading has to be found one after the other.
    """
    count, reach, width, _ = usual.shape
    between = _left_out_between(none, reach)
    usual, both = (steps * between[:, :, None, None] for steps in (usual, both))
    walk = _walk(weight, none, both, between[:, -1])
    # What ended in the readings before each, newest first, as it was scaled then.
    earlier = reach + np.arange(count)[:, None] - np.arange(1, reach + 1)
    since = np.exp(np.minimum(walk.ended_scale[earlier] - walk.log_scale[:, None], _MOST_LOG))
    ended = (walk.ended[earlier] * since[:, :, None]).reshape(count, 1, reach * width)
    came = (ended @ np.concatenate((both, usual), axis=3).reshape(count, reach * width, 2 * width))[:, 0]
    return _Pass(
        came[:, :width] + (walk.begun + walk.further * ANYTHING)[:, None],
        came[:, width:] + walk.begun[:, None],
        walk.log_scale,
        walk.log_total,
    )


@dataclass(frozen=True, slots=True)
class _Walk:
    """What is found reading by reading.

    Attributes:
        ended: the weight of all chains that end in each option, after REACH rows of none, shape (REACH + n, m).
        ended_scale: what the logs of these are short of, shape (REACH + n,).
        begun: the weight of the chain that has taken nothing before a reading, shape (n,).
        further: that of all that took something, but nothing within reach of it, shape (n,).
        log_scale: what the logs of both are short of, shape (n,).
        log_total: the log weight of all chains.
    """

    ended: Floats
    ended_scale: Floats
    begun: Floats
    further: Floats
    log_scale: Floats
    log_total: float


def _walk(weight: Floats, none: Floats, steps: Floats, beyond: Floats) -> _Walk:
    """Find what ends in each reading; `beyond` is the weight of all left out between it and the first out of its reach.

    One small product a reading: of the newest endings, oldest first, each with a number of its own before it, which
    in the newest is what begins anew, with the steps from there. The first number of a product is the sum of the rest.
    """
    count, reach, width, _ = steps.shape
    block = width + 1
    leading = np.zeros((count, reach, block, block))
    leading[:, :, 1:, 1:] = steps[:, ::-1] * weight[:, None, None, :]
    leading[:, -1, 0, 1:] = weight
    leading[..., 0] = leading[..., 1:].sum(axis=3)
    products = list(leading.reshape(count, reach * block, block))
    ended = np.zeros((reach + count) * block)
    sums, ended_scale = [0.0] * reach, [0.0] * reach
    begun, further, log_scale = [1.0], [0.0], [0.0]
    mass = 1.0  # of all chains, the one that takes nothing among them
    at = reach * block
    for product, left_out, left_beyond in zip(products, none.tolist(), beyond.tolist(), strict=True):
        ended[at - block] = begun[-1] + further[-1] * ANYTHING
        np.dot(ended[at - reach * block : at], product, out=ended[at : at + block])
        own = float(ended[at])
        further.append((further[-1] + sums[-reach] * left_beyond) * left_out)
        begun.append(begun[-1] * left_out)
        log_scale.append(log_scale[-1])
        sums.append(own)
        ended_scale.append(log_scale[-1])
        mass = mass * left_out + own
        at += block
        if not _TOO_SMALL < mass < _TOO_LARGE and mass > 0.0:
            ended[at - reach * block : at] /= mass
            sums[-reach:] = [each / mass for each in sums[-reach:]]
            further[-1], begun[-1] = further[-1] / mass, begun[-1] / mass
            log_scale[-1] += math.log(mass)
            ended_scale[-reach:] = [log_scale[-1]] * reach
            mass = 1.0
    return _Walk(
        ended.reshape(reach + count, block)[:, 1:],
        np.array(ended_scale),
        np.array(begun[:-1]),
        np.array(further[:-1]),
        np.array(log_scale[:-1]),
        (math.log(mass) if mass > 0.0 else 0.0) + log_scale[-1],
    )


def _left_out_between(none: Floats, reach: int) -> Floats:
    """Return the weight of leaving out all between the ends of each step, shape (n, reach)."""
    count = len(none)
    padded = np.concatenate((np.ones(reach), none))
    between = np.ones((count, reach))
    for back in range(1, reach):
        between[:, back] = between[:, back - 1] * padded[reach - back : reach - back + count]
    return between


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
