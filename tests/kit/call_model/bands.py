"""Mel bands, and the settings under which Kaldi computes the same."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
WINDOW, SHIFT, FFT = 400, 160, 512
BANDS = 40
LOWEST_HZ, HIGHEST_HZ = 20.0, 7600.0
MFCC_CONF = f"""\
--sample-frequency={RATE_HZ}
--use-energy=false
--num-mel-bins={BANDS}
--num-ceps={BANDS}
--low-freq={LOWEST_HZ:g}
--high-freq={HIGHEST_HZ:g}
--cepstral-lifter=0
--dither=0.0
"""
_WARP_FROM_HZ = 4800.0


def mel_bank(warp: float) -> NDArray[np.float32]:
    """Return triangular bands over the bins of a spectrum, shape (bins, bands), as Kaldi lays them.

    `warp` above 1 moves the spectrum up, as a shorter vocal tract does: in proportion up to about 4.8 kHz, and above
    that so that the top stays where it is (the usual piecewise-linear warp).
    """
    bins_hz = np.arange(FFT // 2 + 1) * RATE_HZ / FFT
    turn = _WARP_FROM_HZ / max(warp, 1.0)
    top = RATE_HZ / 2
    rest = warp * turn + (bins_hz - turn) * (top - warp * turn) / (top - turn)
    warped = np.where(bins_hz <= turn, warp * bins_hz, rest)
    edges = np.linspace(_mel(LOWEST_HZ), _mel(HIGHEST_HZ), BANDS + 2)
    mels = _mel(warped)[:, None]
    rising = (mels - edges[:-2]) / (edges[1:-1] - edges[:-2])
    falling = (edges[2:] - mels) / (edges[2:] - edges[1:-1])
    bank = np.maximum(0.0, np.minimum(rising, falling))
    bank[-1] = 0.0  # Kaldi leaves out the bin at half the sampling rate
    return bank.astype(np.float32)


def _mel(hertz: NDArray[np.float64] | float) -> NDArray[np.float64]:
    return 1127.0 * np.log1p(np.asarray(hertz) / 700.0)


def cosine_transform() -> NDArray[np.float64]:
    """Return Kaldi's cosine transform, shape (cepstra, bands): cepstra = it @ log-mel energies; orthonormal."""
    order, band = np.arange(BANDS)[:, None], np.arange(BANDS)[None, :]
    matrix = math.sqrt(2 / BANDS) * np.cos(math.pi / BANDS * (band + 0.5) * order)
    matrix[0] = math.sqrt(1 / BANDS)
    return matrix
