"""A stored drive with a few entries, and a way to run a command in this process."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from heard import LINES

from logger.cli import odovox
from logger.model import Drive, HeardWord, Hypothesis, Recognition
from logger.store import DriveStore
from logger.wiring.reconciling import settle

NANO = 1_000_000_000
Invoke = Callable[..., Result]


@pytest.fixture
def invoke() -> Invoke:
    """Run `odovox` with these arguments."""

    def run(*arguments: str | Path, typed: str | None = None) -> Result:
        return CliRunner().invoke(odovox, [str(argument) for argument in arguments], input=typed)

    return run


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drive with two calls and a note; only to be read."""
    folder = tmp_path_factory.mktemp("drives") / "drive"
    with DriveStore.create(folder, Drive(1_777_800_000 * NANO, 'units = "metric"\n')) as store:
        source = store.add_source("a.wav", "aa", 0)
        for number, line in enumerate((LINES[0], LINES[3], LINES[7])):
            words = tuple(HeardWord(word, index * NANO // 2) for index, word in enumerate(line.split()))
            said = store.add_utterance(source.id, number * 160_000, 160_000, number * 10 * NANO, "")
            store.add_recognition(Recognition(said.id, "typed", (Hypothesis(0, words, 0.0),)))
        settle(store)
    return folder
