"""Blocks joined, and the moment of a sample in them."""

from __future__ import annotations

import numpy as np
import pytest

from logger.core.captured import joined, moment_mono_ns
from logger.model import CapturedBlock

BLOCKS = (
    CapturedBlock(0, np.arange(160, dtype=np.int16), 1_000_000_000),
    CapturedBlock(160, np.arange(160, 240, dtype=np.int16), 3_000_000_000, lost_samples=31_840),
)


def test_blocks_are_joined() -> None:
    """All samples in order; no blocks are no samples."""
    assert list(range(240)) == joined(BLOCKS).tolist()
    assert joined(()).dtype == np.int16
    assert len(joined(())) == 0


@pytest.mark.parametrize(
    ("sample", "expected_ns"),
    [(0, 1_000_000_000), (159, 1_009_937_500), (160, 3_000_000_000), (239, 3_004_937_500)],
)
def test_each_sample_has_its_moment(sample: int, expected_ns: int) -> None:
    """A gap between blocks does not move what comes after it."""
    assert expected_ns == moment_mono_ns(BLOCKS, sample)


@pytest.mark.parametrize("sample", [-1, 240])
def test_other_samples_have_none(sample: int) -> None:
    """Before the first and after the last there is nothing."""
    with pytest.raises(IndexError):
        moment_mono_ns(BLOCKS, sample)
