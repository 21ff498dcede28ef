"""A drive made of facts holds them under their old numbers, and is one that the store opens and goes on with."""

from __future__ import annotations

from pathlib import Path

import pytest

from logger.core.mending import Facts
from logger.errors import StoreError
from logger.model import Drive, Fix, Issue, Recognition, Source, Utterance
from logger.store import DriveStore
from logger.store.restoring import restore

DRIVE = Drive(7, "")


def test_numbers_stay(tmp_path: Path) -> None:
    """Rows keep their numbers, gaps included; what is added later comes behind them."""
    utterance = Utterance(12, 3, 160, 800, 10_000_000, "clips/003-0000000160.flac")
    facts = Facts(
        sources={3: Source(3, "a name", "", 0, None)},
        utterances={12: utterance},
        recognitions={9: (12, "both")},
        tracks={2: ("gpsd", "live-1-2")},
        fixes={(2, 5): Fix(8, 52.0, 1.0)},
        issues={4: Issue("live_leap", "far")},
    )
    restore(tmp_path / "new", DRIVE, facts)
    with DriveStore.open(tmp_path / "new") as store:
        assert DRIVE == store.drive()
        assert (utterance,) == store.utterances()
        assert (Recognition(12, "both", ()),) == store.latest_recognitions()
        assert (Fix(8, 52.0, 1.0),) == store.fixes()
        assert (Issue("live_leap", "far"),) == store.issues()
        assert 13 == store.add_utterance(3, 1600, 800, 0, "clips/x.flac").id
        assert 4 == store.add_source("next", "", 9).id
    with pytest.raises(StoreError, match="is a drive already"):
        restore(tmp_path / "new", DRIVE, facts)
