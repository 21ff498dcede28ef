"""A sound server of our own for the tests of microphones and loudspeakers."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from sound_server import Feed, SoundServer


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundServer]:
    """A running server whose microphone is fed by the test; this process finds it."""
    with SoundServer() as running:
        yield found(running, monkeypatch)


@pytest.fixture
def room(monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundServer]:
    """A running server whose microphone hears what is played, and faint noise; this process finds it."""
    with SoundServer(room=True) as running, Feed(running, np.zeros(0, np.int16), room=True):
        yield found(running, monkeypatch)


def found(server: SoundServer, monkeypatch: pytest.MonkeyPatch) -> SoundServer:
    """Let this process find a server."""
    for name, value in server.environment.items():
        monkeypatch.setenv(name, value)
    return server
