"""How the tests are shared out: those that run in real time go side by side with those that compute; and one browser for all."""

from __future__ import annotations

import os
import re
import signal
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from xdist.scheduler import LoadScopeScheduling

if TYPE_CHECKING:
    from playwright.sync_api import Browser

_ROOT = Path(__file__).parent.parent
_SIGNS = {
    "soak": r"^from soaking import",
    "real time": r"^from (sound_server|gps_receiver) import|import.*\bRecording\b|\b(server|room): SoundServer",
}
"""What is written in the files of a group."""
_REAL_TIME = ("soak", "real time")
_FIRST = (*_REAL_TIME, "the sample")
"""The groups that take longest, in the order in which they are begun."""


def pytest_configure() -> None:
    """Let signals through that a background job or nohup ignores: what is tested must be stoppable, wherever the tests run."""
    for number in (signal.SIGINT, signal.SIGHUP):
        if signal.getsignal(number) is signal.SIG_IGN:
            signal.signal(number, signal.default_int_handler if number is signal.SIGINT else signal.SIG_DFL)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the groups that take longest."""
    order = {group: place for place, group in enumerate(_FIRST)}
    items.sort(key=lambda item: order.get(_group(item.nodeid), len(order)))


def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> LoadScopeScheduling:
    """Put the tests of a group, or of a file, into one process.

    All that run in real time are one group: two would disturb each other. The soak, the longest by far, is one of its own.
    Those that look at the sample drive stay together, since it takes a minute to be taken in.
    """

    class ByGroup(
        LoadScopeScheduling
    ):  # `--dist loadgroup` of pytest-xdist 3.8 does nothing under pytest 9.2
        def _split_scope(self, nodeid: str) -> str:
            return _group(nodeid)

    return ByGroup(config, log)


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Let tests that compute step aside for those that run in real time beside them."""
    with suppress(PermissionError):  # only root takes back that it stepped aside
        os.setpriority(os.PRIO_PROCESS, 0, 0 if _group(item.nodeid) in _REAL_TIME else 10)


def _group(nodeid: str) -> str:
    return _group_of_file(nodeid.partition("::")[0])


@cache
def _group_of_file(name: str) -> str:
    if name.startswith("tests/replay/"):
        return "the sample"
    text = (_ROOT / name).read_text(encoding="utf-8")
    return next((group for group, sign in _SIGNS.items() if re.search(sign, text, re.MULTILINE)), name)


@pytest.fixture(scope="session")
def doubtful(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive with three doubts; only to be copied or looked at."""
    from reviewed_drives import doubtful_drive, store_called, straight_fixes

    folder = tmp_path_factory.mktemp("drives") / "drive"
    return store_called(folder, doubtful_drive(), fixes=straight_fixes(600))


@pytest.fixture(scope="session")
def light_drives(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of three simulated drives with a fix each ten seconds and 100 entries; only to be copied or looked at."""
    from analysis_page import DRIVES, ENTRIES, EVERY_S
    from many_drives import make_drives

    return make_drives(tmp_path_factory.mktemp("drives"), DRIVES, every_s=EVERY_S, only=ENTRIES)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, without a window."""
    from browser import chromium

    with chromium() as started:
        yield started
