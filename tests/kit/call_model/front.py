"""Sound to log-mel energies on the GPU: what Kaldi computes from the model's `mfcc.conf`, less its cosine transform.

Kaldi's cepstra here are all 40 of 40 mel bands without a lifter, so they hold exactly what the log-mel energies do;
`export` folds the transform into the first layer.
"""

from __future__ import annotations

import math

import numpy as np
import torch
from torch import Tensor, nn

from call_model.bands import FFT, SHIFT, WINDOW, mel_bank

_EMPHASIS = 0.97
_FLOOR = 1.1920929e-07
"""Single precision's step at 1, Kaldi's floor under each band."""


class LogMel(nn.Module):
    """Sound, shape (batch, samples) at int16's scale -> log-mel energies, shape (batch, frames, bands)."""

    def __init__(self, warps: tuple[float, ...] = (1.0,)) -> None:
        super().__init__()
        self.register_buffer("banks", torch.tensor(np.stack([mel_bank(warp) for warp in warps])))
        povey = (0.5 - 0.5 * np.cos(2 * math.pi * np.arange(WINDOW) / (WINDOW - 1))) ** 0.85
        self.register_buffer("window", torch.tensor(povey, dtype=torch.float32))

    def forward(self, sound: Tensor, warp: Tensor | None = None) -> Tensor:
        """Return the energies; `warp` picks one of the warps for each of the batch, shape (batch,)."""
        frames = sound.unfold(1, WINDOW, SHIFT)
        frames = frames - frames.mean(dim=2, keepdim=True)
        before = torch.cat([frames[..., :1], frames[..., :-1]], dim=2)
        spectrum = torch.fft.rfft((frames - _EMPHASIS * before) * self.window, FFT)
        power = spectrum.real**2 + spectrum.imag**2
        banks = self.banks[:1].expand(len(sound), -1, -1) if warp is None else self.banks[warp]
        return torch.bmm(power, banks).clamp_min(_FLOOR).log()
