"""Lattice-free maximum mutual information (Povey et al. 2016; end to end, Hadian et al. 2018; both from memory).

The words that were said, as phones, are made likely against all phones in any order, which a bigram of phones
weighs. Each phone has two outputs: its first step, and every further one. What comes out is what a Kaldi decoder
adds up: logarithms of likelihoods at scale 1, without priors.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import torch
from torch import Tensor

SILENCE = 0
_NEVER = -1e30
_FEWEST = 0.02
"""Added to each count of a pair of phones, so that none is impossible."""


@dataclass(frozen=True, slots=True)
class Spelling:
    """The phones of one text as a graph: numbers of phones, what may come before each, where it begins and ends.

    `before` has shape (positions, most), -1 where there is none; `begins` and `ends` are lists of positions.
    """

    phones: np.ndarray
    before: np.ndarray
    begins: tuple[int, ...]
    ends: tuple[int, ...]


def spell(words: tuple[str, ...], ways: dict[str, tuple[tuple[int, ...], ...]]) -> Spelling:
    """Return the graph of some words: every way to say each, silence where it likes between and around them."""
    phones: list[int] = [SILENCE]
    before: list[list[int]] = [[]]
    begins = [0]
    ready: list[int] = [0]
    at_start = True
    for word in words:
        lasts: list[int] = []
        for way in ways[word]:
            previous = ready
            for index, phone in enumerate(way):
                phones.append(phone)
                before.append(list(previous))
                if index == 0 and at_start:
                    begins.append(len(phones) - 1)
                previous = [len(phones) - 1]
            lasts += previous
        phones.append(SILENCE)
        before.append(lasts)
        ready = [*lasts, len(phones) - 1]
        at_start = False
    most = max(len(each) for each in before)
    table = np.full((len(phones), most), -1, np.int64)
    for row, each in zip(table, before, strict=True):
        row[: len(each)] = each
    return Spelling(np.array(phones), table, tuple(begins), tuple(ready))


def phone_bigram(spellings: list[Spelling], phones: int, pause: float = 0.2) -> tuple[np.ndarray, np.ndarray]:
    """Return how likely each phone begins a text, shape (phones,), and follows another, shape (phones, phones).

    Every way to say a word counts alike; silence between words is there in a share `pause` of the cases.
    """
    starts, pairs = np.full(phones, _FEWEST), np.full((phones, phones), _FEWEST)
    for spelling in spellings:
        for at, (phone, row) in enumerate(zip(spelling.phones, spelling.before, strict=True)):
            froms = [int(spelling.phones[each]) for each in row if each >= 0]
            silent = phone == SILENCE
            for each in froms:
                share = (
                    pause if silent else (pause if each == SILENCE else 1 - pause if SILENCE in froms else 1)
                )
                pairs[each, phone] += share / len(froms)
            if at in spelling.begins:
                starts[phone] += 1
    return starts / starts.sum(), pairs / pairs.sum(axis=1, keepdims=True)


@dataclass(frozen=True, slots=True)
class Batch:
    """The graphs of a batch of texts side by side; positions beyond a text's own are never reached."""

    forward: Tensor
    loop: Tensor
    before: Tensor
    begins: Tensor
    ends: Tensor

    @classmethod
    def of(cls, spellings: list[Spelling], positions: int, most: int, device: torch.device) -> Batch:
        """Return the graphs, each with room for so many positions and so many ways into each."""
        count = len(spellings)
        phones = np.zeros((count, positions), np.int64)
        before = np.full((count, positions, most), positions, np.int64)
        begins = np.full((count, positions), _NEVER, np.float32)
        ends = np.full((count, positions), _NEVER, np.float32)
        for row, each in enumerate(spellings):
            own, ways = each.before.shape
            phones[row, :own] = each.phones
            before[row, :own, :ways] = np.where(each.before < 0, positions, each.before)
            begins[row, list(each.begins)] = 0.0
            ends[row, list(each.ends)] = 0.0
        arrays = (2 * phones, 2 * phones + 1, before.reshape(count, -1), begins, ends)
        return cls(*(torch.tensor(array, device=device) for array in arrays))

    def copy_from(self, other: Batch) -> None:
        """Take another batch of the same shape into this one's memory."""
        for name in ("forward", "loop", "before", "begins", "ends"):
            getattr(self, name).copy_(getattr(other, name))


def said(scores: Tensor, batch: Batch) -> Tensor:
    """Return the log-likelihood of what was said, shape (batch,), over all its paths.

    `scores` has shape (batch, steps, 2 * phones).
    """
    count, steps, _ = scores.shape
    positions = batch.forward.shape[1]
    at_forward = scores.gather(2, batch.forward[:, None, :].expand(-1, steps, -1)).unbind(1)
    at_loop = scores.gather(2, batch.loop[:, None, :].expand(-1, steps, -1)).unbind(1)
    nowhere = scores.new_full((count, 1), _NEVER)
    first = batch.begins + at_forward[0]
    held = scores.new_full((count, positions), _NEVER)
    for step in range(1, steps):
        here = torch.logaddexp(first, held)
        coming = torch.cat([here, nowhere], dim=1).gather(1, batch.before)
        first = coming.view(count, positions, -1).logsumexp(2) + at_forward[step]
        held = here + at_loop[step]
    return (torch.logaddexp(first, held) + batch.ends).logsumexp(1)


def anything(scores: Tensor, starts: Tensor, follows: Tensor) -> Tensor:
    """Return the log-likelihood of any phones in any order, shape (batch,).

    Args:
        scores: shape (batch, steps, 2 * phones).
        starts: likelihood of each phone to begin, shape (phones,).
        follows: likelihood of each phone (columns) after each other (rows), shape (phones, phones).
    """
    count, steps, outputs = scores.shape
    pairs = scores.view(count, steps, outputs // 2, 2)
    highest = pairs.amax(dim=(2, 3), keepdim=True)
    likely = (pairs - highest).exp()
    forward, loop = (each.unbind(1) for each in likely.unbind(3))
    first, held = starts * forward[0], torch.zeros_like(forward[0])
    total = highest.sum(dim=(1, 2, 3))
    for step in range(1, steps):
        here = first + held
        scale = here.sum(dim=1, keepdim=True)
        total = total + scale.squeeze(1).log()
        here = here / scale
        first = (here @ follows) * forward[step]
        held = here * loop[step]
    return total + (first + held).sum(dim=1).log()


class Objective:
    """How well scores tell what was said from anything else, and in which direction they should go.

    On a GPU each shape of scores is recorded once and replayed, since the small steps of the sums over time take
    longer to launch than to run.
    """

    def __init__(self, starts: Tensor, follows: Tensor) -> None:
        self._starts, self._follows = starts, follows
        self._pool = torch.cuda.graph_pool_handle() if starts.is_cuda else None
        self._recorded: dict[tuple[int, ...], tuple[torch.cuda.CUDAGraph, Tensor, Batch, Tensor, Tensor]] = {}

    def __call__(self, scores: Tensor, batch: Batch) -> tuple[Tensor, Tensor]:
        """Return the mean over steps for each of the batch, shape (batch,), and its slope, shape of `scores`."""
        if not scores.is_cuda:
            return self._worked_out(scores.detach().requires_grad_(), batch)
        shape = (*scores.shape, batch.forward.shape[1])
        if shape not in self._recorded:
            self._recorded[shape] = self._record(scores, batch)
        graph, into, held, value, slope = self._recorded[shape]
        into.detach().copy_(scores.detach())
        held.copy_from(batch)
        graph.replay()
        return value, slope

    def _worked_out(self, scores: Tensor, batch: Batch) -> tuple[Tensor, Tensor]:
        value = (said(scores, batch) - anything(scores, self._starts, self._follows)) / scores.shape[1]
        (slope,) = torch.autograd.grad(value.sum(), scores)
        return value.detach(), slope

    def _record(
        self, scores: Tensor, batch: Batch
    ) -> tuple[torch.cuda.CUDAGraph, Tensor, Batch, Tensor, Tensor]:
        into = scores.detach().clone().requires_grad_()
        held = Batch(
            *(getattr(batch, name).clone() for name in ("forward", "loop", "before", "begins", "ends"))
        )
        aside = torch.cuda.Stream()
        aside.wait_stream(torch.cuda.current_stream())
        with torch.cuda.stream(aside):
            self._worked_out(into, held)
        torch.cuda.current_stream().wait_stream(aside)
        graph = torch.cuda.CUDAGraph()
        # One pool of memory for all: they never run at once, and what comes out is used before the next one runs.
        with torch.cuda.graph(graph, pool=self._pool):
            value, slope = self._worked_out(into, held)
        return graph, into, held, value, slope
