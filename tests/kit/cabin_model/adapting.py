"""Maximum a posteriori adaptation of tied Gaussians and their weights, in numpy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cabin_model.model_files import CEPSTRA, DENSITIES, PHONES, SENONES, STREAMS, Floats

FRAMES_PER_MEAN = 500.0
"""How many frames the old mean and variance count for (tau): with 50, voices unlike those of TRAINING were understood
worse than before in quiet; with 2000, noise gained less. Chosen on TUNING voices, as are the weights' frames."""
FRAMES_PER_WEIGHT = 1000.0
"""How many frames a senone's old weights count for."""
_NARROWEST = 0.3
"""No variance falls below this share of what it was."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Frames of one phone: features, shape (n, streams, cepstra), and the senone of each, shape (n,)."""

    features: Floats
    senones: NDArray[np.int64]


class Adaptation:
    """Gathers what is seen of each phone, then moves the model towards it."""

    def __init__(self, means: Floats, variances: Floats, weights: Floats) -> None:
        self._means, self._variances, self._weights = means, variances, weights
        self._log_weights = np.log(np.maximum(weights, 1e-12))
        self._count = np.zeros((PHONES, STREAMS, DENSITIES))
        self._first = np.zeros((PHONES, STREAMS, DENSITIES, CEPSTRA))
        self._second = np.zeros_like(self._first)
        self._weight_count = np.zeros((STREAMS, DENSITIES, SENONES))

    def see(self, phone: int, seen: Seen) -> None:
        """Count some frames of a phone, each by how likely each of its Gaussians made it."""
        order = np.argsort(seen.senones, kind="stable")
        senones, starts = np.unique(seen.senones[order], return_index=True)
        for stream in range(STREAMS):
            frames = seen.features[:, stream]
            shares = self._shares(phone, stream, frames, seen.senones)
            self._count[phone, stream] += shares.sum(axis=0)
            self._first[phone, stream] += shares.T @ frames
            self._second[phone, stream] += shares.T @ frames**2
            self._weight_count[stream][:, senones] += np.add.reduceat(shares[order], starts, axis=0).T

    def _shares(self, phone: int, stream: int, frames: Floats, senones: NDArray[np.int64]) -> Floats:
        mean, variance = self._means[phone, stream], self._variances[phone, stream]
        squared = (frames**2) @ (1 / variance).T - 2 * frames @ (mean / variance).T
        squared += (mean**2 / variance).sum(axis=1)
        log = -0.5 * (squared + np.log(variance).sum(axis=1)) + self._log_weights[stream][:, senones].T
        shares: Floats = np.exp(log - log.max(axis=1, keepdims=True))
        return shares / shares.sum(axis=1, keepdims=True)

    def adapted(self) -> tuple[Floats, Floats, Floats]:
        """Return the means, variances and weights after what was seen."""
        count = (FRAMES_PER_MEAN + self._count)[..., None]
        means = (FRAMES_PER_MEAN * self._means + self._first) / count
        second = (FRAMES_PER_MEAN * (self._variances + self._means**2) + self._second) / count
        variances = np.maximum(second - means**2, _NARROWEST * self._variances)
        total = self._weight_count.sum(axis=1, keepdims=True)
        weights = (FRAMES_PER_WEIGHT * self._weights + self._weight_count) / (FRAMES_PER_WEIGHT + total)
        return means, variances, weights
