"""How loud sound is, in dB below full scale, and the same as a bar of text. Pure.

dBFS here means: 0 dBFS is the root mean square of a square wave that uses the whole range of 16 bits, so a sine that
uses it has -3.01 dBFS. (AES17 counts 3.01 dB more: there such a sine has 0 dBFS.)
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from logger.model import RATE_HZ, Samples

FULL_SCALE = 32768.0
"""The range of 16 bits: samples run from -32768 to 32767."""

SILENCE_DBFS = -99.0
"""What is said of sound without any power, whose level would be minus infinity: below one step of 16 bits (-90.3)."""

_FRAME = RATE_HZ // 50
_QUIET_SHARE = 0.1
_LOUD_SHARE = 0.95


def rms_dbfs(samples: Samples) -> float:
    """Return the level of the root mean square; `SILENCE_DBFS` for silence and for no samples."""
    if not len(samples):
        return SILENCE_DBFS
    return _dbfs(math.sqrt(float(np.mean(np.square(samples, dtype=np.float64)))))


def peak_dbfs(samples: Samples) -> float:
    """Return the level of the sample farthest from zero; `SILENCE_DBFS` for silence and for no samples."""
    if not len(samples):
        return SILENCE_DBFS
    return _dbfs(float(np.abs(samples.astype(np.int32)).max()))


def noise_floor_dbfs(samples: Samples) -> float:
    """Return the level that nine in ten frames of 20 ms exceed: what is left when nobody speaks."""
    return _frame_level_dbfs(samples, _QUIET_SHARE)


def loud_dbfs(samples: Samples) -> float:
    """Return the level that one in twenty frames of 20 ms exceeds: speech, where there is some."""
    return _frame_level_dbfs(samples, _LOUD_SHARE)


def clipped_share(samples: Samples) -> float:
    """Return the share of samples at either end of the range, from 0 to 1; 0 for no samples."""
    if not len(samples):
        return 0.0
    return float(np.count_nonzero((samples >= 32767) | (samples <= -32768))) / len(samples)


def meter_text(level_dbfs: float, held_dbfs: float, *, width: int = 30, lowest_dbfs: float = -60.0) -> str:
    """Return a level as a bar from `lowest_dbfs` to 0 dBFS, with a mark at the loudest of late.

    >>> meter_text(-30.0, -12.0, width=20)
    '[##########-----|----] -30 dBFS'
    >>> meter_text(-80.0, -80.0, width=20)
    '[--------------------] -80 dBFS'
    """
    bar = bar_text(level_dbfs, held_dbfs, width=width, lowest_dbfs=lowest_dbfs)
    return f"{bar} {level_dbfs:.0f} dBFS"


def bar_text(
    level_dbfs: float, held_dbfs: float = SILENCE_DBFS, *, width: int = 30, lowest_dbfs: float = -60.0
) -> str:
    """Return the bar of a meter alone.

    >>> bar_text(-30.0, width=20)
    '[##########----------]'
    """
    filled = _cells(level_dbfs, width, lowest_dbfs)
    mark = _cells(held_dbfs, width, lowest_dbfs)
    cells = ["#" if cell < filled else "-" for cell in range(width)]
    if mark > filled:
        cells[mark - 1] = "|"
    return f"[{''.join(cells)}]"


def _cells(level_dbfs: float, width: int, lowest_dbfs: float) -> int:
    share = 1.0 - level_dbfs / lowest_dbfs
    return round(min(1.0, max(0.0, share)) * width)


def _frame_level_dbfs(samples: Samples, share: float) -> float:
    whole = len(samples) // _FRAME * _FRAME
    if not whole:
        return rms_dbfs(samples)
    frames = samples[:whole].astype(np.float64).reshape(-1, _FRAME)
    levels: NDArray[np.float64] = np.sqrt(np.square(frames).mean(axis=1))
    return _dbfs(float(np.quantile(levels, share)))


def _dbfs(amplitude: float) -> float:
    return max(SILENCE_DBFS, 20.0 * math.log10(amplitude / FULL_SCALE)) if amplitude > 0.0 else SILENCE_DBFS
