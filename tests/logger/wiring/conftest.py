"""A short drive, made once."""

from __future__ import annotations

import pytest
import short_drives
from short_drives import ShortDrive


@pytest.fixture(scope="session")
def short_drive(tmp_path_factory: pytest.TempPathFactory) -> ShortDrive:
    """75 s of sound with seven calls and a note, its track and its sheet."""
    return short_drives.make(tmp_path_factory.mktemp("short drive"))
