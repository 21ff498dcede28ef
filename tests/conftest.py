"""How the tests are shared out: those that run in real time go side by side with those that compute; and one browser for all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

_REAL_TIME = ("SoundServer", "Receiver", "soak", "Recording")
"""What a test module imports whose tests wait for real time to pass."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the tests of a file on one core, and all that run in real time on the same one, first: two would disturb each other.

    Those that look at the sample drive stay together as well, since it takes a minute to be taken in.
    """
    for item in items:
        names = vars(item.module) if isinstance(item, pytest.Function) else {}
        real_time = any(name in names for name in _REAL_TIME)
        own = "the sample" if "sample" in getattr(item, "fixturenames", ()) else item.path.name
        item.add_marker(pytest.mark.xdist_group("real time" if real_time else own))
    items.sort(key=lambda item: "real time" not in str(next(item.iter_markers("xdist_group")).args))


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, without a window."""
    from browser import chromium

    with chromium() as started:
        yield started
