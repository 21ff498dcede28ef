"""The network: log-mel energies each 10 ms -> scores of sounds each 30 ms.

A time-delay network (Waibel et al. 1989) whose layers are two thin matrices each instead of one (Povey et al. 2018,
both from memory), with a way past each layer. No padding inside: what it needs before and after is added in front.
"""

from __future__ import annotations

import torch
from torch import Tensor, nn

from call_model.bands import BANDS
from call_model.shape import BEFORE_LAST, CONTEXT, DILATIONS, FRONT, PAST, SUBSAMPLING, THIN, WIDTH


class Delay(nn.Module):
    """One layer: looks back into a thin one, ahead out of it."""

    def __init__(self, dilation: int) -> None:
        super().__init__()
        self.dilation = dilation
        self.narrow = nn.Conv1d(WIDTH, THIN, 2, dilation=dilation, bias=False)
        self.widen = nn.Conv1d(THIN, WIDTH, 2, dilation=dilation)
        self.norm = nn.BatchNorm1d(WIDTH, affine=False)

    def forward(self, x: Tensor) -> Tensor:
        """Take (batch, WIDTH, steps), give `dilation` steps less on both sides."""
        y = torch.relu(self.norm(self.widen(self.narrow(x))))
        return y + PAST * x[:, :, self.dilation : -self.dilation]


class CallNetwork(nn.Module):
    """Log-mel energies, shape (batch, frames, bands) -> scores, shape (batch, steps, outputs).

    Step n is told from the frames around 3 n; the first and last frames are repeated, as Kaldi does.
    """

    def __init__(self, outputs: int) -> None:
        super().__init__()
        self.outputs = outputs
        self.first = nn.Conv1d(BANDS, FRONT, 5)
        self.first_norm = nn.BatchNorm1d(FRONT, affine=False)
        self.second = nn.Conv1d(FRONT, FRONT, 3)
        self.second_norm = nn.BatchNorm1d(FRONT, affine=False)
        self.third = nn.Conv1d(FRONT, WIDTH, 3, stride=SUBSAMPLING)
        self.third_norm = nn.BatchNorm1d(WIDTH, affine=False)
        self.delays = nn.ModuleList(Delay(dilation) for dilation in DILATIONS)
        self.before_last = nn.Conv1d(WIDTH, BEFORE_LAST, 1)
        self.before_last_norm = nn.BatchNorm1d(BEFORE_LAST, affine=False)
        self.last = nn.Conv1d(BEFORE_LAST, outputs, 1)
        nn.init.zeros_(self.last.weight)
        nn.init.zeros_(self.last.bias)
        self.register_buffer("mean", torch.full((BANDS,), 10.0))
        self.register_buffer("spread", torch.full((BANDS,), 4.0))

    def forward(self, energies: Tensor) -> Tensor:
        """Return the scores."""
        steps = (energies.shape[1] + SUBSAMPLING - 1) // SUBSAMPLING
        after = CONTEXT + SUBSAMPLING * (steps - 1) - energies.shape[1] + 1
        x = (energies - self.mean) / self.spread
        x = torch.cat([x[:, :1].expand(-1, CONTEXT, -1), x, x[:, -1:].expand(-1, after, -1)], dim=1)
        x = x.transpose(1, 2)
        x = torch.relu(self.first_norm(self.first(x)))
        x = torch.relu(self.second_norm(self.second(x)))
        x = torch.relu(self.third_norm(self.third(x)))
        for delay in self.delays:
            x = delay(x)
        x = torch.relu(self.before_last_norm(self.before_last(x)))
        return self.last(x).transpose(1, 2)
