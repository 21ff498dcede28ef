"""What each reading of one quantity was, by all that was heard of it over the drive. Pure.

Each reading is in one of its options or *none of these*. The chain's weight is the product of

- each reading's acoustic weight of the option taken, or of none;
- the odds of each value taken by itself;
- the odds of each step between two values taken that follow each other, as the sum of a usual and a surprising way.

Odds are densities over that of a value out of the blue, so none needs none: a reading that is left out says nothing of
the drive. Steps reach over at most `REACH - 1` readings left out; further apart a value may be anything, for the price of a
surprise. So the work grows in proportion to the number of readings.

`Chain.posterior` sums over all chains (the forward-backward algorithm: Rabiner, Proceedings of the IEEE 77(2), 1989, section
III, cited from memory; the tests hold it to the sum over all chains written out), exactly but for that reach.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from logger.core.plausible.odds import ANYTHING
from logger.core.plausible.strand import REACH, Floats

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


class Chain:
    """The readings of one quantity and the steps between them, whatever the weights.

    Args:
        widths: how many options each reading has, shape (n,); m is the most of them.
        at: the steps: later reading, how many readings back the earlier one is (less one, and less than `REACH`),
            option of the earlier, option of the later; one array each, no step twice.
    """

    def __init__(self, widths: NDArray[np.intp], at: tuple[NDArray[np.intp], ...]) -> None:
        later, back, own, other = at
        self._forward = _Links(widths, later, back, own, other)
        self._backward = _Links(widths[::-1], len(widths) - (later - back), back, other, own)

    def posterior(self, log_weight: Floats, log_none: Floats, usual: Floats, surprise: Floats) -> Posterior:
        """Return the probability of every option of every reading.

        Args:
            log_weight: natural logs of acoustic weights and odds alone, shape (n, m); -inf where there is no option.
            log_none: of none of the options, shape (n,).
            usual: log odds of a usual going on, for each step.
            surprise: log odds of a surprise, for each step.
        """
        # Each reading's weights as shares of its best one: the same factor in every chain.
        best = np.maximum(log_weight.max(axis=1), log_none)
        weight, none = np.exp(log_weight - best[:, None]), np.exp(log_none - best)
        usually = np.exp(usual)
        either = usually + np.exp(surprise)
        forward = _pass(self._forward, weight, none, usually, either)
        backward = _pass(self._backward, weight[::-1], none[::-1], usually, either)
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


class _Links:
    """Where everything lies in the numbers that one pass goes over.

    Each reading has a block of numbers: one of its own, and one for each option. What ends in its options comes of the
    blocks of the `REACH` readings before it, which lie side by side, by the product with a matrix of its own.

    Attributes:
        count, width: n and m.
        begins: where each block begins, those of `REACH` readings without options before the first among them; the end.
        matrices: where each reading's matrix begins in the row of all, and the end.
        options: which of n times m there are.
        steps: where each step is in the matrices.
        heads: where the row that it is in begins.
        sources: where what ended at its earlier end is among the blocks.
        pairs: where its readings are among n times REACH.
        targets: where its later end is among n times m.
        anew: where the steps of what begins anew at each option are in the matrices.
        anew_heads: where the rows that they are in begin.
    """

    def __init__(
        self,
        widths: NDArray[np.intp],
        later: NDArray[np.intp],
        back: NDArray[np.intp],
        own: NDArray[np.intp],
        other: NDArray[np.intp],
    ) -> None:
        self.count, self.width = len(widths), int(widths.max())
        block = widths + 1
        begins = np.concatenate((np.arange(REACH), REACH + np.concatenate(([0], np.cumsum(block)))))
        window, newest = begins[: self.count], begins[REACH - 1 : REACH - 1 + self.count]
        rows = begins[REACH : REACH + self.count] - window
        matrices = np.concatenate(([0], np.cumsum(rows * block)))
        self.begins, self.matrices = begins.tolist(), matrices.tolist()
        self.options = np.arange(self.width) < widths[:, None]
        self.sources = begins[later - back - 1 + REACH] + 1 + own
        self.heads = matrices[later] + (self.sources - window[later]) * block[later]
        self.steps = self.heads + 1 + other
        self.pairs = later * REACH + back
        self.targets = later * self.width + other
        reading, option = np.nonzero(self.options)
        self.anew_heads = (matrices[:-1] + (newest - window) * block)[reading]
        self.anew = self.anew_heads + 1 + option


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


def _pass(links: _Links, weight: Floats, none: Floats, usual: Floats, either: Floats) -> _Pass:
    """Go over the readings in the order given. Only what ends in each has to be found one after the other."""
    shape = (links.count, links.width)
    between = _left_out_between(none)
    left_out = between.ravel()[links.pairs]
    walk = _walk(links, weight, none, either * left_out, between[:, -1])
    # What ended in the readings before each, as it was scaled then.
    earlier = np.arange(links.count)[:, None] + REACH - np.arange(1, REACH + 1)
    since = np.exp(np.minimum(walk.ended_scale[earlier] - walk.log_scale[:, None], _MOST_LOG))
    ended = walk.ended[links.sources] * since.ravel()[links.pairs] * left_out

    def came(steps: Floats) -> Floats:
        """Return what comes to each option by steps."""
        size = links.count * links.width
        return _summed(links.targets, ended * steps, size).reshape(shape)

    return _Pass(
        came(either) + (walk.begun + walk.further * ANYTHING)[:, None],
        came(usual) + walk.begun[:, None],
        walk.log_scale,
        walk.log_total,
    )


@dataclass(frozen=True, slots=True)
class _Walk:
    """What is found reading by reading.

    Attributes:
        ended: all blocks: the weight of all chains that end in each option.
        ended_scale: what the logs of a block are short of, shape (REACH + n,).
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


def _walk(links: _Links, weight: Floats, none: Floats, steps: Floats, beyond: Floats) -> _Walk:
    """Find what ends in each reading; `beyond` is the weight of all left out between it and the first out of its reach.

    What begins anew is put into the newest block's own number, and goes on from there by the weights alone; a product's
    own number is the sum of the others.
    """
    begins, size = links.begins, links.matrices[-1]
    taken = steps * weight.ravel()[links.targets]
    own = weight[links.options]
    matrices = _summed(links.heads, taken, size) + _summed(links.anew_heads, own, size)
    matrices[links.steps] = taken
    matrices[links.anew] = own
    ended = np.zeros(begins[-1])
    sums, ended_scale = [0.0] * REACH, [0.0] * REACH
    all_begun, all_further, all_scales = [], [], []
    begun, further, scale = 1.0, 0.0, 0.0
    mass = 1.0  # of all chains, the one that takes nothing among them
    blocks = zip(begins, begins[REACH - 1 :], begins[REACH:], begins[REACH + 1 :], strict=False)
    weights = zip(pairwise(links.matrices), none.tolist(), beyond.tolist(), strict=True)
    for here, ((oldest, newest, at, end), ((first, last), left_out, out_of_reach)) in enumerate(
        zip(blocks, weights, strict=True)
    ):
        all_begun.append(begun)
        all_further.append(further)
        all_scales.append(scale)
        ended[newest] = begun + further * ANYTHING
        ended[oldest:at].dot(matrices[first:last].reshape(at - oldest, end - at), ended[at:end])
        came = ended.item(at)
        further = (further + sums[-REACH] * out_of_reach) * left_out
        begun *= left_out
        sums.append(came)
        ended_scale.append(scale)
        mass = mass * left_out + came
        if not _TOO_SMALL < mass < _TOO_LARGE and mass > 0.0:
            ended[begins[here + 1] : end] /= mass
            sums[-REACH:] = [each / mass for each in sums[-REACH:]]
            further, begun = further / mass, begun / mass
            scale += math.log(mass)
            ended_scale[-REACH:] = [scale] * REACH
            mass = 1.0
    return _Walk(
        ended,
        np.array(ended_scale),
        np.array(all_begun),
        np.array(all_further),
        np.array(all_scales),
        (math.log(mass) if mass > 0.0 else 0.0) + scale,
    )


def _summed(at: NDArray[np.intp], values: Floats, size: int) -> Floats:
    """Return so many sums of the values that go to each place."""
    return np.asarray(np.bincount(at, weights=values, minlength=size), dtype=np.float64)


def _left_out_between(none: Floats) -> Floats:
    """Return the weight of leaving out all between the ends of each step, shape (n, REACH)."""
    count = len(none)
    padded = np.concatenate((np.ones(REACH), none))
    between = np.ones((count, REACH))
    for back in range(1, REACH):
        between[:, back] = between[:, back - 1] * padded[REACH - back : REACH - back + count]
    return between


def _surprising(usually: Floats, reached: Floats) -> Floats:
    """Return the share of a weight that is not the usual one's."""
    return np.where(reached > 0.0, 1.0 - usually / np.where(reached > 0.0, reached, 1.0), 0.0)
