"""How the tests are shared out: those that run in real time go side by side with those that compute."""

from __future__ import annotations

import pytest

_REAL_TIME = ("SoundServer", "Receiver", "soak", "Recording")
"""What a test module imports whose tests wait for real time to pass."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the tests of a file on one core, and all that run in real time on the same one, first: two would disturb each other."""
    for item in items:
        names = vars(item.module) if isinstance(item, pytest.Function) else {}
        real_time = any(name in names for name in _REAL_TIME)
        item.add_marker(pytest.mark.xdist_group("real time" if real_time else item.path.name))
    items.sort(key=lambda item: "real time" not in str(next(item.iter_markers("xdist_group")).args))
