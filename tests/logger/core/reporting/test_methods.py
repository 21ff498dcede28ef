"""The method in short points at headings that docs/method.md has."""

from __future__ import annotations

import re
from pathlib import Path

from logger.core.reporting.methods import METHODS

METHOD = Path(__file__).resolve().parents[4] / "docs" / "method.md"


def test_each_heading_is_there() -> None:
    """Whoever follows a reference finds it."""
    lines = METHOD.read_text(encoding="utf-8").splitlines()
    headings = {re.sub(r"^#+ ([\d.]+ )?", "", line) for line in lines if line.startswith("#")}
    assert [] == [each.heading for each in METHODS if each.heading not in headings]
