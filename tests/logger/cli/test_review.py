"""`odovox review`: what does not go together, and a drive that is none. The page itself has tests of its own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result


@pytest.mark.parametrize("options", [("--terminal", "--no-browser"), ("--no-sound",)])
def test_what_does_not_go_together(
    invoke: Callable[..., Result], folder: Path, options: tuple[str, ...]
) -> None:
    """Wrong usage."""
    assert 2 == invoke("review", folder, *options).exit_code


def test_no_drive(invoke: Callable[..., Result], tmp_path: Path) -> None:
    """One line."""
    refused = invoke("review", tmp_path)

    assert (2, 1) == (refused.exit_code, len(refused.stderr.splitlines()))
