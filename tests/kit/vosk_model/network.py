"""A small frame classifier in numpy: three affine layers over a window of cepstra, trained by Adam."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

OFFSETS = (-15, -12, -9, -7, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 7, 9, 12, 15)
"""Frames seen around the one to be told, in units of 10 ms."""
HIDDEN = 256
Floats = NDArray[np.float32]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Network:
    """Weights (out, in) and biases of each layer; ReLU between, log-softmax last. Takes raw cepstra."""

    weights: tuple[Floats, ...]
    biases: tuple[Floats, ...]
    priors: Floats
    """Share of each sound in the training, which scores divide by."""

    def log_posteriors(self, features: Floats, step: int = 1) -> Floats:
        """Return log-probabilities, shape (ceil(frames / step), sounds), at every `step`-th frame."""
        at = np.arange(0, len(features), step)
        hidden = features[_window(at, np.zeros_like(at), np.full_like(at, len(features) - 1))]
        hidden = hidden.reshape(len(at), -1)
        for weight, bias in zip(self.weights[:-1], self.biases[:-1], strict=True):
            hidden = np.maximum(hidden @ weight.T + bias, 0)
        return _log_softmax(hidden @ self.weights[-1].T + self.biases[-1])

    def scores(self, features: Floats, step: int = 1) -> Floats:
        """Return log-likelihoods up to a constant: what a Kaldi decoder uses."""
        return self.log_posteriors(features, step) - np.log(self.priors)


def _window(at: Ints, first: Ints, last: Ints) -> Ints:
    window: Ints = np.clip(at[:, None] + np.array(OFFSETS), first[:, None], last[:, None])
    return window


def _log_softmax(values: Floats) -> Floats:
    shifted: Floats = values - values.max(axis=1, keepdims=True)
    return np.asarray(shifted - np.log(np.exp(shifted).sum(axis=1, keepdims=True)), np.float32)


def random_network(sounds: int, cepstra: int, seed: int) -> Network:
    """Return a network that knows nothing."""
    rng = np.random.default_rng(seed)
    sizes = (len(OFFSETS) * cepstra, HIDDEN, HIDDEN, sounds)
    weights = tuple(
        (rng.standard_normal((n_out, n_in)) * np.sqrt(2 / n_in)).astype(np.float32)
        for n_in, n_out in pairwise(sizes)
    )
    biases = tuple(np.zeros(n_out, np.float32) for n_out in sizes[1:])
    return Network(weights, biases, np.full(sounds, 1 / sounds, np.float32))


def train(
    features: Sequence[Floats],
    labels: Sequence[Ints],
    sounds: int,
    *,
    passes: float,
    seed: int,
    rate: float = 1e-3,
) -> Network:
    """Return a network trained on utterances: cepstra (frames, n) and a sound per frame, -1 for "don't learn".

    Each pass sees a third of the frames. Every utterance is shifted by a random constant in the cepstra, each
    time anew: other loudness and other microphones.
    """
    rng = np.random.default_rng(seed)
    flat: Floats = np.concatenate(features)
    mean, deviation = flat.mean(axis=0), flat.std(axis=0) + 1e-3
    flat = (flat - mean) / deviation
    told = np.concatenate(labels)
    lengths = np.array([len(part) for part in features])
    ends = np.cumsum(lengths)
    first = np.repeat(ends - lengths, lengths)
    last = np.repeat(ends - 1, lengths)
    owner = np.repeat(np.arange(len(features)), lengths)
    known = np.flatnonzero(told >= 0)
    start = random_network(sounds, flat.shape[1], seed)
    values = [*start.weights, *start.biases]
    moments = [(np.zeros_like(value), np.zeros_like(value)) for value in values]
    batch = 512
    steps = int(passes * len(known) / 3 / batch)
    spread = (np.array([1.0, *np.linspace(0.9, 0.1, flat.shape[1] - 1)])).astype(np.float32)
    shift = np.zeros((len(features), flat.shape[1]), np.float32)
    for step in range(steps):
        if step % 100 == 0:
            shift = rng.standard_normal(shift.shape).astype(np.float32) * spread
        at = known[rng.integers(0, len(known), batch)]
        window = flat[_window(at, first[at], last[at])] + shift[owner[at]][:, None, :]
        gradients = _gradients(values, window.reshape(batch, -1), told[at])
        pace = rate * min(1.0, (step + 1) / 50) * (1 - 0.97 * step / steps)
        for index, gradient in enumerate(gradients):
            slow, fast = moments[index]
            moments[index] = slow, fast = 0.9 * slow + 0.1 * gradient, 0.99 * fast + 0.01 * gradient**2
            # Adam's bias corrections matter in the first hundred steps only, where the pace is low anyway.
            move = pace * slow / (np.sqrt(fast) + 1e-6)
            values[index] = np.asarray(values[index] - move, np.float32)
    weights, biases = values[:3], values[3:]
    tiled_deviation, tiled_mean = np.tile(deviation, len(OFFSETS)), np.tile(mean, len(OFFSETS))
    biases[0] = biases[0] - weights[0] @ (tiled_mean / tiled_deviation)
    weights[0] = weights[0] / tiled_deviation
    counts = np.bincount(told[known], minlength=sounds) + 50.0
    return Network(tuple(weights), tuple(biases), (counts / counts.sum()).astype(np.float32))


def _gradients(values: list[Floats], window: Floats, told: Ints) -> list[Floats]:
    weights, biases = values[:3], values[3:]
    layers = [window]
    for weight, bias in zip(weights[:-1], biases[:-1], strict=True):
        layers.append(np.maximum(layers[-1] @ weight.T + bias, 0))
    wrong = np.exp(_log_softmax(layers[-1] @ weights[-1].T + biases[-1]))
    wrong[np.arange(len(told)), told] -= 1
    wrong /= len(told)
    by_weight: list[Floats] = []
    by_bias: list[Floats] = []
    for index in (2, 1, 0):
        by_weight.append(wrong.T @ layers[index])
        by_bias.append(wrong.sum(axis=0))
        if index:
            wrong = (wrong @ weights[index]) * (layers[index] > 0)
    return [*reversed(by_weight), *reversed(by_bias)]
