"""The bundled sample drive, taken in once for all that look at it."""

from __future__ import annotations

from pathlib import Path

import pytest
from heard import Remembering
from sample_drive import SAMPLES

from logger.wiring.demo import find_sample, ingest_sample


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The drive that it becomes; only to be read."""
    folder = tmp_path_factory.mktemp("sample") / "drive"
    ingest_sample(find_sample(SAMPLES), folder, Remembering())
    return folder
