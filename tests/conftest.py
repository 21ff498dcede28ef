"""How the tests are shared out: those that run in real time go side by side with those that compute; and one browser for all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

_REAL_TIME = ("SoundServer", "Receiver", "Recording")
"""What a test module imports whose tests wait for real time to pass."""
_FIRST = {"soak": 0, "real time": 1, "sample": 2}
"""The groups that take longest, in the order in which they are begun."""


@pytest.hookimpl(tryfirst=True)  # before pytest-xdist reads the marks
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the tests of a file into one process, and all that run in real time into one: two would disturb each other.

    The soak is the longest by far: it has a process of its own, and comes first. Those that look at the sample drive stay
    together as well, since it takes a minute to be taken in.
    """
    for item in items:
        item.add_marker(pytest.mark.xdist_group(_group(item)))
    items.sort(key=lambda item: _FIRST.get(_group(item), len(_FIRST)))


def _group(item: pytest.Item) -> str:
    names = vars(item.module) if isinstance(item, pytest.Function) else {}
    if "soak" in names:
        return "soak"
    if any(name in names for name in _REAL_TIME):
        return "real time"
    return "sample" if "sample" in getattr(item, "fixturenames", ()) else item.path.name


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, without a window."""
    from browser import chromium

    with chromium() as started:
        yield started
